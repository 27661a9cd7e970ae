// Rooms and luminaires out of a spreadsheet: what each column holds, what is wrong in each row, then one change.
import { useMemo, useState } from "preact/hooks";
import type { Edit, Library, Problem } from "../api/contract";
import { inSentences, problemOf } from "../app/api";
import { useCell } from "../app/cell";
import type { Json } from "../app/pointer";
import type { ProjectStore } from "../app/project";
import { Link, hrefOf, navigate } from "../app/router";
import { api, projectStore } from "../app/service";
import { units } from "../app/session";
import { boxesOf, listIn, textIn } from "../start/document";
import { Field } from "../start/field";
import { useLibrary } from "../start/library";
import { LUMINAIRE_ROLES, type Mapping, ROLE_WORDS, ROOM_ROLES, type Role, guessColumns } from "../start/paste/columns";
import { type LuminaireChoices, luminairesToMake, readLuminaires } from "../start/paste/luminaires";
import { type Choices, type RowRoom, firstChoices, readRooms, roomsToMake, unknownWords } from "../start/paste/rooms";
import { readTable } from "../start/paste/table";
import "../start/start.css";
import { formatArea, formatLength } from "../units/system";
import { Shell } from "./shell";

export function PastePage({ project: id }: { project: string }) {
  const project = projectStore(id);
  const state = useCell(project.state);
  const library = useLibrary();
  return (
    <Shell title="Paste rooms" project={project} crumbs={[{ words: state.name || id, to: hrefOf({ page: "building", project: id, revision: null }) }, { words: "paste from a spreadsheet" }]}>
      <main id="main" class="page paste" style={{ width: "100%" }} aria-busy={library === null || state.phase === "loading"}>
        <h1>Paste from a spreadsheet</h1>
        {library !== null && state.phase === "ready" && <Paste project={project} library={library} document={state.document} />}
      </main>
    </Shell>
  );
}

type What = "rooms" | "luminaires";
type LightsAs = "as_found" | "proposal";

function Paste({ project, library, document }: { project: ProjectStore; library: Library; document: Json }) {
  const [what, setWhat] = useState<What>("rooms");
  const [text, setText] = useState("");
  const [changed, setChanged] = useState<Mapping | null>(null);
  const table = useMemo(() => readTable(text), [text]);
  const guessed = useMemo(() => guessColumns(table.rows, table.columns, what, library), [table, what, library]);
  const mapping = changed !== null && changed.roles.length === table.columns ? changed : guessed;
  const own = useMemo(() => listIn(document, "luminaire_types").map((t) => ({ id: textIn(t, "id"), tag: textIn(t, "tag"), name: textIn(t, "name") })), [document]);
  const setRole = (column: number, role: Role) =>
    setChanged({ ...mapping, roles: mapping.roles.map((r, c) => (c === column ? role : r === role && role !== "ignore" ? "ignore" : r)) });
  return (
    <>
      <p class="lead">Copy the table in the spreadsheet and paste it here; its columns are recognised, and can be set by hand.</p>
      <div class="filters" role="group" aria-label="What is pasted">
        {(["rooms", "luminaires"] as const).map((which) => (
          <button
            key={which}
            type="button"
            class="word"
            aria-pressed={what === which}
            onClick={() => {
              setWhat(which);
              setChanged(null);
            }}
          >
            {which}
          </button>
        ))}
      </div>
      <label>
        <span class="spoken">table </span>
        <textarea
          class="field"
          value={text}
          spellcheck={false}
          placeholder={what === "rooms" ? "Number\tName\tType\tFloor\tArea m2\tHeight m\tTypical\n1.01\tClassroom 1\tClassroom\tFirst floor\t62\t3.0\tClassroom" : "Room\tType\tX\tY\tZ\n1.01\tP12\t1.5\t1.2\t2.7"}
          onInput={(event) => {
            setText(event.currentTarget.value);
            setChanged(null);
          }}
        />
      </label>
      {table.rows.length > 0 && (
        <>
          <label>
            <input type="checkbox" checked={mapping.hasHeader} onChange={(e) => setChanged({ ...mapping, hasHeader: e.currentTarget.checked })} /> the first row names the columns
          </label>
          {table.cut > 0 && <p class="bad">Only the first {table.rows.length} rows are taken; paste the other {table.cut} afterwards.</p>}
          {what === "rooms" ? (
            <Rooms project={project} library={library} document={document} rows={table.rows} mapping={mapping} own={own} onRole={setRole} onDone={() => setText("")} />
          ) : (
            <Luminaires project={project} library={library} document={document} rows={table.rows} mapping={mapping} own={own} onRole={setRole} />
          )}
        </>
      )}
    </>
  );
}

interface PreviewProps {
  project: ProjectStore;
  library: Library;
  document: Json;
  rows: readonly (readonly string[])[];
  mapping: Mapping;
  own: readonly { id: string; tag: string; name: string }[];
  onRole: (column: number, role: Role) => void;
}

function Heads({ mapping, rows, roles, onRole, lead }: { mapping: Mapping; rows: readonly (readonly string[])[]; roles: readonly Role[]; onRole: (column: number, role: Role) => void; lead: string | null }) {
  return (
    <thead>
      <tr>
        {lead !== null && <th scope="col">{lead}</th>}
        <th scope="col">what it becomes</th>
        {mapping.roles.map((role, c) => {
          const head = mapping.hasHeader ? (rows[0]?.[c] ?? "") : `column ${c + 1}`;
          return (
            <th key={c} scope="col">
              {head || `column ${c + 1}`}
              <select class="field" aria-label={`${head || `column ${c + 1}`} holds`} value={role} onChange={(e) => onRole(c, e.currentTarget.value as Role)}>
                {roles.map((r) => (
                  <option key={r} value={r}>
                    {ROLE_WORDS[r]}
                  </option>
                ))}
              </select>
            </th>
          );
        })}
      </tr>
    </thead>
  );
}

function Words({ words, of, options, onChoose }: { words: readonly (readonly [string, number])[]; of: string; options: readonly { id: string; words: string }[]; onChoose: (word: string, id: string) => void }) {
  if (words.length === 0) return null;
  return (
    <section aria-label={`unknown ${of}s`}>
      <h2>Which {of} is meant?</h2>
      <div class="paste-words">
        {words.map(([word, rows]) => (
          <label key={word}>
            <span>
              “{word}” <span class="soft">in {rows} row{rows === 1 ? "" : "s"}</span>
            </span>
            <select class="field" value="" onChange={(e) => e.currentTarget.value !== "" && onChoose(word.toLowerCase(), e.currentTarget.value)}>
              <option value="">choose</option>
              {options.map((o) => (
                <option key={o.id} value={o.id}>
                  {o.words}
                </option>
              ))}
            </select>
          </label>
        ))}
      </div>
    </section>
  );
}

/** Lists of a first set of edits stay; those that another set would make anew are added to. */
function joined(all: Edit[], more: readonly Edit[]): void {
  const made = new Set(all.filter((e) => Array.isArray(e.value)).map((e) => e.path));
  for (const edit of more) {
    if (edit.op === "add" && Array.isArray(edit.value) && made.has(edit.path)) for (const value of edit.value) all.push({ op: "add", path: `${edit.path}/-`, value });
    else all.push(edit);
  }
}

function Rooms({ project, library, document, rows, mapping, own, onRole, onDone }: PreviewProps & { onDone: () => void }) {
  const system = useCell(units);
  const [choices, setChoices] = useState<Choices>(() => firstChoices(system));
  const [picked, setPicked] = useState<ReadonlySet<number>>(new Set());
  const [called, setCalled] = useState("");
  const [lightsAs, setLightsAs] = useState<LightsAs>("as_found");
  const [lightsTypicals, setLightsTypicals] = useState(true);
  const [lightsOwn, setLightsOwn] = useState(false);
  const [doing, setDoing] = useState<string | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const rooms = useMemo(() => readRooms(rows, mapping, choices, library, document, own), [rows, mapping, choices, library, document, own]);
  const good = rooms.filter((room) => room.problems.length === 0);
  const making = useMemo(() => roomsToMake(rooms, document, lightsAs), [rooms, document, lightsAs]);
  const typicalCount = making.typicals.length;
  const kindName = (id: string | null) => library.kinds.find((k) => k.id === id)?.name ?? "";
  const hasLuminaires = rooms.some((room) => room.luminaires !== null && room.luminaires > 0);

  const light = async (requests: readonly { typical?: string; space?: string }[]) => {
    // Typicals one after another, because each may make lists that the next one adds to; rooms together.
    const together: Edit[] = [];
    const base = project.state.value.head;
    for (const [i, request] of requests.entries()) {
      setDoing(`light ${i + 1} of ${requests.length}`);
      try {
        if (request.typical !== undefined) {
          const answer = await api.startRoom(project.id, { revision: project.state.value.head, typical: request.typical, as_found: hasLuminaires && lightsAs === "as_found" ? null : {} });
          const result = await project.commit(answer.label, answer.edits, project.state.value.head);
          if (result.kind === "refused") return setProblem(result.problem);
        } else if (request.space !== undefined) {
          const answer = await api.startRoom(project.id, { revision: base, space: request.space, as_found: {} });
          joined(together, answer.edits);
        }
      } catch (error) {
        setProblem(problemOf(error));
      }
    }
    if (together.length > 0) await project.commit(`light ${requests.length} rooms`, together, base);
  };
  const save = async () => {
    setProblem(null);
    setDoing("rooms");
    const result = await project.commit(making.label, making.edits, project.state.value.head);
    if (result.kind === "saved") {
      if (lightsTypicals && !hasLuminaires) await light(making.typicals.map((typical) => ({ typical })));
      if (lightsOwn && !hasLuminaires) await light(making.own.map((space) => ({ space })));
      onDone();
      navigate(hrefOf({ page: "building", project: project.id, revision: null }));
    }
    setDoing(null);
  };

  return (
    <>
      <div class="paste-bar">
        <label class="named-field">
          <span>lengths without a unit are in</span>
          <select class="field" value={choices.lengthUnit} onChange={(e) => setChoices({ ...choices, lengthUnit: e.currentTarget.value as "m" | "ft" })}>
            <option value="m">metres, square metres, lux</option>
            <option value="ft">feet, square feet, foot-candles</option>
          </select>
        </label>
        <label class="named-field">
          <span>rooms with an area alone are drawn</span>
          <select class="field" value={String(choices.proportion)} onChange={(e) => setChoices({ ...choices, proportion: Number(e.currentTarget.value) })}>
            {[1, 1.3, 1.5, 2].map((p) => (
              <option key={p} value={String(p)}>
                {p} to 1 (corridors 6 to 1)
              </option>
            ))}
          </select>
        </label>
        {hasLuminaires && (
          <label class="named-field">
            <span>the luminaires are</span>
            <select class="field" value={lightsAs} onChange={(e) => setLightsAs(e.currentTarget.value as LightsAs)}>
              <option value="as_found">what stands there now</option>
              <option value="proposal">the proposal</option>
            </select>
          </label>
        )}
      </div>
      <Words words={unknownWords(rooms, "kind")} of="kind of space" options={library.kinds.map((k) => ({ id: k.id, words: k.name }))} onChoose={(word, id) => setChoices({ ...choices, kinds: { ...choices.kinds, [word]: id } })} />
      <Words words={unknownWords(rooms, "type")} of="luminaire type" options={library.luminaire_types.map((t) => ({ id: t.id, words: `${t.tag}: ${t.name}` }))} onChoose={(word, id) => setChoices({ ...choices, types: { ...choices.types, [word]: id } })} />
      <form
        class="paste-bar"
        onSubmit={(event) => {
          event.preventDefault();
          if (picked.size === 0 || called.trim() === "") return;
          setChoices({ ...choices, typicals: { ...choices.typicals, ...Object.fromEntries([...picked].map((row) => [row, called.trim()])) } });
          setPicked(new Set());
          setCalled("");
        }}
      >
        <Field label={`${picked.size} row${picked.size === 1 ? "" : "s"} chosen: make them a typical called`} value={called} onValue={setCalled} placeholder="Classroom" />
        <button class="action quiet" disabled={picked.size === 0 || called.trim() === ""}>
          make these a typical
        </button>
        <ChooseAlike rooms={rooms} kindName={kindName} onPick={setPicked} />
      </form>
      <div class="paste-table" tabIndex={0} role="region" aria-label="preview">
        <table class="rows paste-rows figures">
          <Heads mapping={mapping} rows={rows} roles={ROOM_ROLES} onRole={onRole} lead="choose" />
          <tbody>
            {rooms.map((room) => (
              <tr key={room.row}>
                <td>
                  <input
                    type="checkbox"
                    aria-label={`choose row ${room.row + 1}`}
                    checked={picked.has(room.row)}
                    onChange={(e) => {
                      const next = new Set(picked);
                      if (e.currentTarget.checked) next.add(room.row);
                      else next.delete(room.row);
                      setPicked(next);
                    }}
                  />
                </td>
                <td class="wrap">
                  {room.problems.length > 0 ? (
                    <span class="bad">Left out: {room.problems.join("; ")}.</span>
                  ) : (
                    <span>
                      {kindName(room.kind)}, {formatLength(room.wide_m!, system)} x {formatLength(room.deep_m!, system)}, {formatArea(room.area_m2!, system)}
                      {room.target !== "" && `, ${room.target}`}
                      {room.typical !== "" && <span class="soft">, typical {room.typical}</span>}
                    </span>
                  )}
                </td>
                {mapping.roles.map((role, c) => (
                  <td key={c} class={role === "ignore" ? "soft" : ""}>
                    {rows[room.row]?.[c] ?? ""}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {making.notes.map((note) => (
        <p key={note} class="start-note">
          {note}
        </p>
      ))}
      {!hasLuminaires && (
        <div class="paste-bar">
          {typicalCount > 0 && (
            <label>
              <input type="checkbox" checked={lightsTypicals} onChange={(e) => setLightsTypicals(e.currentTarget.checked)} /> light the {typicalCount} typical{typicalCount === 1 ? "" : "s"} as is usual for their kinds
            </label>
          )}
          {making.own.length > 0 && (
            <label>
              <input type="checkbox" checked={lightsOwn} onChange={(e) => setLightsOwn(e.currentTarget.checked)} /> also the {making.own.length} room{making.own.length === 1 ? "" : "s"} that follow{making.own.length === 1 ? "s" : ""} none, half a second each
            </label>
          )}
        </div>
      )}
      {problem !== null && (
        <p role="alert" class="bad">
          {inSentences(problem)}
        </p>
      )}
      <p class="actions">
        <button type="button" class="action" disabled={good.length === 0 || doing !== null} onClick={() => void save()}>
          make {good.length} room{good.length === 1 ? "" : "s"}
        </button>
        <span role="status" class="soft">
          {doing ?? (rooms.length > good.length ? `${rooms.length - good.length} of ${rooms.length} rows are left out until they are put right` : `all ${rooms.length} rows can be read`)}
        </span>
      </p>
    </>
  );
}

/** All rows of one kind and size at once. */
function ChooseAlike({ rooms, kindName, onPick }: { rooms: readonly RowRoom[]; kindName: (id: string | null) => string; onPick: (rows: ReadonlySet<number>) => void }) {
  const kinds = new Map<string, number[]>();
  for (const room of rooms) if (room.kind !== null && room.typical === "") kinds.set(room.kind, [...(kinds.get(room.kind) ?? []), room.row]);
  const several = [...kinds].filter(([, rows]) => rows.length > 1);
  if (several.length === 0) return null;
  return (
    <label class="named-field">
      <span>choose all rows of a kind</span>
      <select
        class="field"
        value=""
        onChange={(e) => {
          const rows = kinds.get(e.currentTarget.value);
          if (rows !== undefined) onPick(new Set(rows));
          e.currentTarget.value = "";
        }}
      >
        <option value="">choose</option>
        {several.map(([kind, rows]) => (
          <option key={kind} value={kind}>
            {kindName(kind)} ({rows.length})
          </option>
        ))}
      </select>
    </label>
  );
}

function Luminaires({ project, library, document, rows, mapping, own, onRole }: PreviewProps) {
  const system = useCell(units);
  const [choices, setChoices] = useState<LuminaireChoices>(() => ({ types: {}, unit: system === "us" ? "ft" : "m", from: "room" }));
  const [role, setRole] = useState<LightsAs>("as_found");
  const [busy, setBusy] = useState(false);
  const boxes = useMemo(() => boxesOf(document), [document]);
  const read = useMemo(() => readLuminaires(rows, mapping, choices, library, own, boxes), [rows, mapping, choices, library, own, boxes]);
  const making = useMemo(() => luminairesToMake(read, document, role), [read, document, role]);
  const unknown = new Map<string, number>();
  for (const row of read) if (row.type === null && row.typeWord !== "") unknown.set(row.typeWord, (unknown.get(row.typeWord) ?? 0) + 1);
  const wrong = read.filter((row) => row.problems.length > 0).length;
  const save = async () => {
    setBusy(true);
    const result = await project.commit(making.label, making.edits, project.state.value.head);
    setBusy(false);
    if (result.kind === "saved") navigate(hrefOf({ page: "building", project: project.id, revision: null }));
  };
  return (
    <>
      <div class="paste-bar">
        <label class="named-field">
          <span>places are in</span>
          <select class="field" value={choices.unit} onChange={(e) => setChoices({ ...choices, unit: e.currentTarget.value as "m" | "ft" })}>
            <option value="m">metres</option>
            <option value="ft">feet</option>
          </select>
        </label>
        <label class="named-field">
          <span>and count from</span>
          <select class="field" value={choices.from} onChange={(e) => setChoices({ ...choices, from: e.currentTarget.value as "room" | "building" })}>
            <option value="room">the room's south-west corner</option>
            <option value="building">the building's zero</option>
          </select>
        </label>
        <label class="named-field">
          <span>the luminaires are</span>
          <select class="field" value={role} onChange={(e) => setRole(e.currentTarget.value as LightsAs)}>
            <option value="as_found">what stands there now</option>
            <option value="proposal">the proposal</option>
          </select>
        </label>
      </div>
      {boxes.length === 0 && (
        <p class="start-note">
          The building has no rooms yet: <Link to={hrefOf({ page: "add_room", project: project.id })}>add one</Link>, or paste rooms first.
        </p>
      )}
      <Words words={[...unknown]} of="luminaire type" options={library.luminaire_types.map((t) => ({ id: t.id, words: `${t.tag}: ${t.name}` }))} onChoose={(word, id) => setChoices({ ...choices, types: { ...choices.types, [word]: id } })} />
      <div class="paste-table" tabIndex={0} role="region" aria-label="preview">
        <table class="rows paste-rows figures">
          <Heads mapping={mapping} rows={rows} roles={LUMINAIRE_ROLES} onRole={onRole} lead={null} />
          <tbody>
            {read.map((row) => (
              <tr key={row.row}>
                <td class="wrap">
                  {row.problems.length > 0 ? (
                    <span class="bad">Left out: {row.problems.join("; ")}.</span>
                  ) : (
                    <span>
                      {row.count} x {row.type} in {row.room!.number || row.room!.id}
                      {row.at === null && <span class="soft">, spread evenly</span>}
                    </span>
                  )}
                </td>
                {mapping.roles.map((r, c) => (
                  <td key={c} class={r === "ignore" ? "soft" : ""}>
                    {rows[row.row]?.[c] ?? ""}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p class="actions">
        <button type="button" class="action" disabled={making.count === 0 || busy} onClick={() => void save()}>
          place {making.count} luminaire{making.count === 1 ? "" : "s"}
        </button>
        <span role="status" class="soft">
          {wrong > 0 ? `${wrong} of ${read.length} rows are left out until they are put right` : `all ${read.length} rows can be read`}
        </span>
      </p>
    </>
  );
}
