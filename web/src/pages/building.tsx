// The building: rooms as rows, typicals, and what is missing before it can be issued.
import { useState } from "preact/hooks";
import type { Building, Diagnostic, RoomRow } from "../api/contract";
import { inSentences } from "../app/api";
import { useCell } from "../app/cell";
import { useResource } from "../app/resource";
import { Link, hrefOf } from "../app/router";
import { api, projectStore } from "../app/service";
import { units } from "../app/session";
import { printedValue } from "../units/figures";
import { formatArea } from "../units/system";
import { Shell } from "./shell";

type Key = "number" | "name" | "storey" | "kind_name" | "area_m2" | "luminaires" | "connected_w";

const COLUMNS: readonly { key: Key; words: string; figures: boolean }[] = [
  { key: "number", words: "number", figures: false },
  { key: "name", words: "room", figures: false },
  { key: "storey", words: "storey", figures: false },
  { key: "kind_name", words: "kind", figures: false },
  { key: "area_m2", words: "area", figures: true },
  { key: "luminaires", words: "luminaires", figures: true },
  { key: "connected_w", words: "connected", figures: true },
];

/** Rows whose number, name, kind or storey holds every word, in the order of a column. */
export function arranged(
  rows: readonly RoomRow[],
  words: string,
  key: Key,
  falling: boolean,
  storeyName: (id: string) => string,
): RoomRow[] {
  const wanted = words.toLowerCase().split(/\s+/).filter((word) => word !== "");
  const kept = rows.filter((row) => {
    const text = `${row.number} ${row.name} ${row.kind_name} ${storeyName(row.storey)} ${row.typical ?? ""}`.toLowerCase();
    return wanted.every((word) => text.includes(word));
  });
  const of = (row: RoomRow) => (key === "storey" ? storeyName(row.storey) : row[key]);
  const by = (a: RoomRow, b: RoomRow) => {
    const x = of(a);
    const y = of(b);
    const order =
      typeof x === "number" && typeof y === "number"
        ? x - y
        : String(x).localeCompare(String(y), "en", { numeric: true });
    return falling ? -order : order;
  };
  return kept.sort(by);
}

export function BuildingPage({ project: id, revision }: { project: string; revision: number | null }) {
  const project = projectStore(id);
  const state = useCell(project.state);
  const shown = revision ?? (state.phase === "ready" ? state.head : null);
  const older = revision !== null && state.phase === "ready" && revision !== state.head ? revision : null;
  const building = useResource(id, shown === null ? null : String(shown), (signal) =>
    api.building(id, shown, { signal }),
  );
  return (
    <Shell title={state.name} project={project} older={older} diagnostics={building.value?.diagnostics ?? null} crumbs={[{ words: state.name || id }]}>
      <main id="main" class="page">
        <h1>{state.name || id}</h1>
        <p class="actions">
          <Link to={hrefOf({ page: "revisions", project: id })}>revisions</Link>
          <Link to={hrefOf({ page: "assumptions", project: id, revision })}>assumptions</Link>
          <Link to={hrefOf({ page: "compare", project: id })}>compare designs</Link>
        </p>
        {building.problem !== null && (
          <p role="alert" class="bad">
            {inSentences(building.problem)}
          </p>
        )}
        {building.value !== null && <Rooms building={building.value} older={older} />}
        {building.value !== null && <Typicals building={building.value} />}
        {building.value !== null && <MissingList building={building.value} older={older} />}
      </main>
    </Shell>
  );
}

function Rooms({ building, older }: { building: Building; older: number | null }) {
  const system = useCell(units);
  const [words, setWords] = useState("");
  const [key, setKey] = useState<Key>("number");
  const [falling, setFalling] = useState(false);
  const storeyName = (id: string) => building.storeys.find((storey) => storey.id === id)?.name ?? id;
  const rows = arranged(building.rooms, words, key, falling, storeyName);
  const area = rows.reduce((sum, row) => sum + row.area_m2, 0);
  const watts = rows.reduce((sum, row) => sum + row.connected_w, 0);
  return (
    <section aria-labelledby="rooms-heading">
      <h2 id="rooms-heading">Rooms</h2>
      <div class="filters">
        <label>
          show{" "}
          <input
            class="field"
            type="search"
            placeholder="number, name, kind, storey"
            value={words}
            onInput={(event) => setWords(event.currentTarget.value)}
          />
        </label>
        <span class="soft" role="status">
          {rows.length} of {building.rooms.length}
        </span>
      </div>
      {building.rooms.length === 0 ? (
        <p class="soft">No rooms yet.</p>
      ) : (
        <table class="rows figures">
          <thead>
            <tr>
              {COLUMNS.map((column) => (
                <th
                  key={column.key}
                  scope="col"
                  class={column.figures ? "n" : ""}
                  aria-sort={key !== column.key ? "none" : falling ? "descending" : "ascending"}
                >
                  <button
                    type="button"
                    class="word"
                    aria-pressed={key === column.key}
                    onClick={() => {
                      setFalling(key === column.key ? !falling : column.figures);
                      setKey(column.key);
                    }}
                  >
                    {column.words}
                  </button>
                </th>
              ))}
              <th scope="col">typical</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.id}>
                <td>{row.number}</td>
                <td class="name">
                  <Link to={hrefOf({ page: "room", project: building.project, space: row.id, revision: older })}>
                    {row.name}
                  </Link>
                </td>
                <td>{storeyName(row.storey)}</td>
                <td>{row.kind_name}</td>
                <td class="n">{formatArea(row.area_m2, system)}</td>
                <td class="n">{row.luminaires}</td>
                <td class="n">{printedValue(row.connected_w, "W")}</td>
                <td class="soft">
                  {row.typical ?? ""}
                  {row.overrides.length > 0 && `, own ${row.overrides.map((o) => o.replaceAll("_", " ")).join(", ")}`}
                </td>
              </tr>
            ))}
          </tbody>
          <tfoot>
            <tr>
              <th scope="row" colSpan={4}>
                together
              </th>
              <td class="n">{formatArea(area, system)}</td>
              <td class="n">{rows.reduce((sum, row) => sum + row.luminaires, 0)}</td>
              <td class="n">{printedValue(watts, "W")}</td>
              <td />
            </tr>
          </tfoot>
        </table>
      )}
    </section>
  );
}

function Typicals({ building }: { building: Building }) {
  if (building.typicals.length === 0) return null;
  const numberOf = (id: string) => building.rooms.find((room) => room.id === id)?.number ?? id;
  return (
    <section aria-labelledby="typicals-heading">
      <h2 id="typicals-heading">Typicals</h2>
      <table class="rows">
        <thead>
          <tr>
            <th scope="col">typical</th>
            <th scope="col">rooms that follow it</th>
          </tr>
        </thead>
        <tbody>
          {building.typicals.map((typical) => (
            <tr key={typical.id}>
              <td>{typical.name || typical.id}</td>
              <td class="soft">
                {typical.rooms.length === 0
                  ? "none"
                  : typical.rooms.map((room, i) => (
                      <>
                        {i > 0 && ", "}
                        <Link
                          key={room}
                          to={hrefOf({ page: "room", project: building.project, space: room, revision: null })}
                        >
                          {numberOf(room)}
                        </Link>
                      </>
                    ))}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

const SEVERITIES: readonly Diagnostic["severity"][] = ["error", "missing", "warning"];

/** The room whose part of the document a place belongs to, or null. */
function roomOf(building: Building, where: string): RoomRow | null {
  return building.rooms.find((room) => where === room.pointer || where.startsWith(`${room.pointer}/`)) ?? null;
}

function MissingList({ building, older }: { building: Building; older: number | null }) {
  const [severity, setSeverity] = useState<Diagnostic["severity"] | "all">("all");
  const all = [...building.diagnostics].sort(
    (a, b) => SEVERITIES.indexOf(a.severity) - SEVERITIES.indexOf(b.severity),
  );
  const listed = severity === "all" ? all : all.filter((d) => d.severity === severity);
  return (
    <section id="missing" aria-labelledby="missing-heading">
      <h2 id="missing-heading">Missing before issue</h2>
      {all.length === 0 ? (
        <p class="good">Nothing.</p>
      ) : (
        <>
          <div class="filters" role="group" aria-label="Show">
            {(["all", ...SEVERITIES] as const).map((kind) => {
              const count = kind === "all" ? all.length : all.filter((d) => d.severity === kind).length;
              return (
                <button
                  key={kind}
                  type="button"
                  class="word"
                  aria-pressed={severity === kind}
                  onClick={() => setSeverity(kind)}
                >
                  {kind} {count}
                </button>
              );
            })}
          </div>
          <ul class="missing">
            {listed.map((diagnostic, i) => {
              const room = roomOf(building, diagnostic.where);
              return (
                <li key={i}>
                  <span class={diagnostic.severity === "error" ? "severity bad" : "severity"}>
                    {diagnostic.severity}
                  </span>
                  <span>
                    {room !== null && (
                      <>
                        <Link
                          to={hrefOf({ page: "room", project: building.project, space: room.id, revision: older })}
                        >
                          {room.number} {room.name}
                        </Link>
                        {": "}
                      </>
                    )}
                    {diagnostic.problem} <span class="soft">{diagnostic.remedy}</span>{" "}
                    <code class="soft">{diagnostic.where}</code>
                  </span>
                </li>
              );
            })}
          </ul>
        </>
      )}
    </section>
  );
}
