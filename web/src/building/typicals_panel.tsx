// Typicals: what each states for its rooms, edited in place, and what rooms keep as their own.
import { useState } from "preact/hooks";
import type { Building, Edit, Pointer } from "../api/contract";
import { type Json, tokensOf, valueAt } from "../app/pointer";
import { Link, hrefOf } from "../app/router";
import { nameOfPlace } from "../sentence/choices";
import { type Editing, EditingContext } from "../sentence/context";
import { Phrases } from "../sentence/phrase";
import { type Override, editsToDrop, editsToTakeOver, fieldsOf, overridesOf, reachInWords, reachOf, typicalPlace } from "./typicals";
import { valueOfPlaceInWords } from "./words";

/** "vacancy delay", "target of Table": what a place of a typical is called. */
export function fieldInWords(document: Json, at: Pointer): string {
  const place = typicalPlace(document, at);
  if (place === null) return nameOfPlace(document, at);
  const tokens = tokensOf(place.whole);
  const below = place.block === null ? [tokens.at(-1) ?? "", ...place.below] : place.below;
  if (below.some((token) => /^[0-9]+$/.test(token))) return nameOfPlace(document, at);
  return below.map((token) => token.replaceAll("_", " ")).join(" ");
}

interface TypicalsProps {
  building: Building;
  document: Json;
  editing: Editing;
  /** Id of the typical that is shown, or null for the first. */
  shown: string | null;
  onShow: (typical: string) => void;
}

export function Typicals({ building, document, editing, shown, onShow }: TypicalsProps) {
  const [first] = building.typicals;
  if (first === undefined) return null;
  const typical = building.typicals.find((one) => one.id === shown) ?? first;
  return (
    <section id="typicals" aria-labelledby="typicals-heading">
      <h2 id="typicals-heading">Typicals</h2>
      <div class="filters" role="group" aria-label="Typical that is shown">
        {building.typicals.map((one) => (
          <button key={one.id} type="button" class="word" aria-pressed={one.id === typical.id} onClick={() => onShow(one.id)}>
            {one.name || one.id} {one.rooms.length}
          </button>
        ))}
      </div>
      <EditingContext.Provider value={{ ...editing, subject: `typical ${typical.id}` }}>
        <One building={building} document={document} editing={editing} typical={typical} />
      </EditingContext.Provider>
    </section>
  );
}

function One({
  building,
  document,
  editing,
  typical,
}: {
  building: Building;
  document: Json;
  editing: Editing;
  typical: Building["typicals"][number];
}) {
  const overrides = overridesOf(document, typical.id);
  const fields = fieldsOf(document, typical.id);
  const proposal = building.designs.find((design) => design.role === "proposal");
  const ofSequence = (at: Pointer) => at.startsWith("/designs/");
  return (
    <>
      <p>
        Followed by{" "}
        {typical.rooms.length === 0
          ? "no room yet"
          : typical.rooms.map((id, i) => {
              const room = building.rooms.find((row) => row.id === id);
              return (
                <span key={id}>
                  {i > 0 && ", "}
                  <Link to={hrefOf({ page: "room", project: building.project, space: id, revision: null })}>
                    {room?.number ?? id}
                  </Link>
                </span>
              );
            })}
        . A change here reaches every room that says nothing else.
      </p>
      <div class="typical-fields">
        <Fields heading="Room" fields={fields.filter((at) => !ofSequence(at))} overrides={overrides} editing={editing} />
        <Fields
          heading={`Sequence${proposal === undefined ? "" : ` of “${proposal.name}”`}`}
          fields={fields.filter(ofSequence)}
          overrides={overrides}
          editing={editing}
        />
      </div>
      <Own overrides={overrides} document={document} editing={editing} />
    </>
  );
}

function Fields({
  heading,
  fields,
  overrides,
  editing,
}: {
  heading: string;
  fields: readonly Pointer[];
  overrides: readonly Override[];
  editing: Editing;
}) {
  if (fields.length === 0) return null;
  const { document } = editing;
  return (
    <table class="rows">
      <thead>
        <tr>
          <th scope="col">{heading}</th>
          <th scope="col">
            <span class="spoken">value</span>
          </th>
          <th scope="col">a change</th>
        </tr>
      </thead>
      <tbody>
        {fields.map((at) => {
          const reach = reachOf(document, at);
          const own = overrides.some((override) => override.at === at);
          return (
            <tr key={at}>
              <th scope="row">{fieldInWords(document, at)}</th>
              <td>
                <Phrases phrases={[{ text: valueOfPlaceInWords(editing, at, valueAt(document, at)), pointer: at }]} />
              </td>
              <td class={own ? "" : "soft"}>{reach === null ? "" : reachInWords(reach, at)}</td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}

function Own({ overrides, document, editing }: { overrides: readonly Override[]; document: Json; editing: Editing }) {
  const [problem, setProblem] = useState("");
  if (overrides.length === 0) return <p class="soft">No room has anything of its own.</p>;
  const commit = async (label: string, edits: Edit[]) => {
    const result = await editing.commit(label, edits);
    setProblem(result.kind === "refused" ? result.problem.problem : "");
  };
  return (
    <>
      {problem !== "" && (
        <p class="bad" role="alert">
          {problem}
        </p>
      )}
      <table class="rows">
        <thead>
          <tr>
            <th scope="col">room</th>
            <th scope="col">keeps its own</th>
            <th scope="col">which is</th>
            <th scope="col">instead of</th>
            <th scope="col">
              <span class="spoken">what can be done</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {overrides.map((override) => {
            const field = fieldInWords(document, override.at);
            const over = editsToTakeOver(document, override);
            const { number } = override.heir;
            const design = override.at.startsWith("/designs/") ? valueAt(document, `/designs/${tokensOf(override.at)[1]}/name`) : undefined;
            return (
              <tr key={`${override.heir.id} ${override.at} ${override.own_at}`}>
                <td>{number}</td>
                <td>
                  {field}
                  {typeof design === "string" && <span class="soft"> in “{design}”</span>}
                </td>
                <td>{valueOfPlaceInWords(editing, override.at, override.own)}</td>
                <td class="soft">{valueOfPlaceInWords(editing, override.at, override.typical)}</td>
                <td>
                  {!editing.readOnly && (
                    <span class="actions">
                      <button
                        type="button"
                        class="word"
                        aria-label={`follow the typical: ${number}, ${field}`}
                        title="the room says nothing of its own any more"
                        onClick={() => void commit(`${number}: ${field} as the typical`, editsToDrop(document, override))}
                      >
                        follow the typical
                      </button>
                      {over !== null && (
                        <button
                          type="button"
                          class="word"
                          aria-label={`for all rooms of the typical: ${field} of ${number}`}
                          title="the typical takes this value"
                          onClick={() => void commit(`${field} of ${number} for all of the typical`, over)}
                        >
                          for all
                        </button>
                      )}
                    </span>
                  )}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </>
  );
}
