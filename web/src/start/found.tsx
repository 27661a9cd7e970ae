// What stands there now, which a saving is counted from.
import type { Library, LibraryKind } from "../api/contract";
import { Field } from "./field";
import type { FoundChoice, RoomForm } from "./room_form";

interface FoundProps {
  library: Library;
  form: RoomForm;
  kind: LibraryKind | undefined;
  problems: Partial<Record<string, string>>;
  onPatch: (change: Partial<RoomForm>) => void;
}

export function Found({ library, form, kind, problems, onPatch }: FoundProps) {
  const usual = library.luminaire_types.find((t) => t.id === kind?.found_luminaire_type);
  const choices: readonly (readonly [FoundChoice, string])[] = [
    ["usual", `Not known: assume ${usual === undefined ? "older luminaires" : `${usual.tag}, ${usual.input_w} W each`}, as many as hold the same light`],
    ["known", "Known: say what it is"],
    ["nothing", "Nothing: a new building, compared with the least that the code asks"],
  ];
  return (
    <section aria-labelledby="found-heading">
      <h2 id="found-heading">What stands there now</h2>
      <div role="radiogroup" aria-labelledby="found-heading" class="found">
        {choices.map(([which, words]) => (
          <label key={which}>
            <input type="radio" name="found" checked={form.found === which} onChange={() => onPatch({ found: which })} /> {words}
          </label>
        ))}
      </div>
      {form.found === "known" && (
        <>
          <label class="row">
            <span>type</span>
            <select class="field" value={form.foundType || (kind?.found_luminaire_type ?? "")} onChange={(e) => onPatch({ foundType: e.currentTarget.value })}>
              {library.luminaire_types.map((t) => (
                <option key={t.id} value={t.id}>
                  {t.tag}: {t.name.replace(/^existing: /, "")}
                </option>
              ))}
            </select>
          </label>
          <div class="row-two">
            <Field label="how many" value={form.foundCount} placeholder="as many as hold the light" problem={problems["foundCount"]} onValue={(foundCount) => onPatch({ foundCount })} />
            <Field label="watts of one" value={form.foundWatts} placeholder="those of the type" problem={problems["foundWatts"]} onValue={(foundWatts) => onPatch({ foundWatts })} />
          </div>
        </>
      )}
      {form.found === "usual" && <p class="soft">The saving rests on this assumption; it is listed with the others and can be changed or confirmed later.</p>}
    </section>
  );
}
