// The rooms as rows: what each is, uses, saves and lacks.
import type { Building, Drawings } from "../api/contract";
import { useMemo, useRef, useState } from "preact/hooks";
import { Link, hrefOf } from "../app/router";
import type { Study } from "../app/study";
import { UNIT_SPACE, printedValue, rounded } from "../units/figures";
import { type UnitSystem, formatArea, formatInterval, formatResult, formatValue } from "../units/system";
import { Rail } from "./rail";
import { type BuildingRow, type ColumnKey, NO_FILTER, type RowFilter, arranged, kwhOf, selectedAfter } from "./rows";
import { YearPicture } from "./year_picture";

const COLUMNS: readonly { key: ColumnKey; words: string; n?: true; narrow?: true }[] = [
  { key: "number", words: "no." },
  { key: "name", words: "room" },
  { key: "storey", words: "storey", narrow: true },
  { key: "kind", words: "kind", narrow: true },
  { key: "typical", words: "typical, and what is its own" },
  { key: "area", words: "area", n: true },
  { key: "luminaires", words: "lum.", n: true, narrow: true },
  { key: "power", words: "power", n: true },
  { key: "density", words: "a m²", n: true, narrow: true },
  { key: "energy", words: "energy a year", n: true },
  { key: "saving", words: "saving" },
];

interface RoomTableProps {
  building: Building;
  rows: readonly BuildingRow[];
  /** What a room says itself although it follows a typical, in words, by room. */
  overrides: ReadonlyMap<string, readonly string[]>;
  study: Study | null;
  drawings: Drawings | null;
  /** The study is of another revision. */
  isOld: boolean;
  older: number | null;
  system: UnitSystem;
  selected: ReadonlySet<string>;
  onSelect: (selected: ReadonlySet<string>) => void;
}

export function RoomTable(props: RoomTableProps) {
  const { building, rows, study, system, selected, onSelect } = props;
  const [filter, setFilter] = useState<RowFilter>(NO_FILTER);
  const [key, setKey] = useState<ColumnKey>("number");
  const [falling, setFalling] = useState(false);
  const last = useRef<string | null>(null);
  const shown = arranged(rows, filter, key, falling);
  const order = shown.map((row) => row.room.id);
  const years = useMemo(() => new Map(props.drawings?.rooms.map((room) => [room.id, room.year] as const) ?? []), [props.drawings]);
  // A room that uses more than before, be it ever so much more, takes no more of the line than this.
  const adds = rows.some((row) => row.study?.studied === true && row.study.annual.saving.against_as_found.low < 0);
  const lowest = adds ? -0.25 : 0;
  // Of figures the largest comes first.
  const sort = (column: ColumnKey, falls: boolean) => {
    setFalling(key === column ? !falling : falls);
    setKey(column);
  };
  const click = (id: string, shift: boolean) => {
    onSelect(selectedAfter(selected, order, id, last.current, shift));
    last.current = id;
  };
  const chosen = order.filter((id) => selected.has(id)).length;
  const head = (column: ColumnKey, words: string, figures: boolean, narrow = false, falls = figures) => (
    <th
      key={column}
      scope="col"
      class={[figures && "n", narrow && "narrow"].filter(Boolean).join(" ")}
      aria-sort={key !== column ? "none" : falling ? "descending" : "ascending"}
    >
      <button type="button" class="word" aria-pressed={key === column} onClick={() => sort(column, falls)}>
        {words}
      </button>
    </th>
  );
  return (
    <>
      <Filters building={building} filter={filter} onFilter={setFilter} shown={shown.length} />
      <div class="scrolls" role="region" aria-label="Table of rooms" tabIndex={0}>
        <table class={props.isOld ? "rows figures rooms old" : "rows figures rooms"}>
          <thead>
            <tr>
              <th scope="col">
                <input
                  type="checkbox"
                  aria-label="choose all rooms shown"
                  checked={shown.length > 0 && chosen === shown.length}
                  onChange={(event) => {
                    const next = new Set(selected);
                    for (const id of order) {
                      if (event.currentTarget.checked) next.add(id);
                      else next.delete(id);
                    }
                    onSelect(next);
                  }}
                />
              </th>
              {COLUMNS.map((column) => head(column.key, column.words, column.n === true, column.narrow === true, column.n === true || column.key === "saving"))}
              <th scope="col">the year</th>
              {head("rules", "rules", false, false, true)}
              {head("missing", "missing", true)}
            </tr>
          </thead>
          <tbody>
            {shown.map((row) => (
              <Row
                key={row.room.id}
                {...props}
                row={row}
                year={years.get(row.room.id)}
                lowest={lowest}
                chosen={selected.has(row.room.id)}
                onClick={(shift) => click(row.room.id, shift)}
              />
            ))}
          </tbody>
          <Foot shown={shown} whole={shown.length === rows.length} study={study} system={system} />
        </table>
      </div>
      {shown.length === 0 && <p class="soft">{rows.length === 0 ? "No rooms yet." : "No room is like this."}</p>}
    </>
  );
}

function Filters({ building, filter, onFilter, shown }: { building: Building; filter: RowFilter; onFilter: (filter: RowFilter) => void; shown: number }) {
  const choice = (key: "storey" | "kind" | "typical", words: string, options: readonly { id: string; name: string }[]) => (
    <label>
      {words}{" "}
      <select value={filter[key]} onChange={(event) => onFilter({ ...filter, [key]: event.currentTarget.value })}>
        <option value="">all</option>
        {options.map((option) => (
          <option key={option.id} value={option.id}>
            {option.name}
          </option>
        ))}
      </select>
    </label>
  );
  const kinds = new Map(building.rooms.map((room) => [room.kind, room.kind_name] as const));
  return (
    <div class="filters">
      <label>
        show{" "}
        <input
          class="field"
          type="search"
          placeholder="number, name, kind"
          value={filter.words}
          onInput={(event) => onFilter({ ...filter, words: event.currentTarget.value })}
        />
      </label>
      {choice("storey", "storey", building.storeys)}
      {choice("kind", "kind", [...kinds].map(([id, name]) => ({ id, name })).sort((a, b) => a.name.localeCompare(b.name)))}
      {choice("typical", "typical", [...building.typicals, { id: "none", name: "none" }])}
      <label>
        <input type="checkbox" checked={filter.findings} onChange={(event) => onFilter({ ...filter, findings: event.currentTarget.checked })} /> with
        something to settle
      </label>
      <span class="soft" role="status">
        {shown} of {building.rooms.length}
      </span>
    </div>
  );
}

interface RowProps extends RoomTableProps {
  row: BuildingRow;
  year: Drawings["rooms"][number]["year"];
  lowest: number;
  chosen: boolean;
  onClick: (shift: boolean) => void;
}

function Row({ building, overrides, older, system, row, year, lowest, chosen, onClick }: RowProps) {
  const { room } = row;
  const study = row.study?.studied === true ? row.study : null;
  const watts = study?.connected_w ?? room.connected_w;
  const own = overrides.get(room.id) ?? [];
  return (
    <tr class={chosen ? "chosen" : ""}>
      <td>
        <input
          type="checkbox"
          aria-label={`choose ${room.number} ${room.name}`}
          checked={chosen}
          onClick={(event) => onClick(event.shiftKey)}
        />
      </td>
      <td>{room.number}</td>
      <td class="name">
        <Link to={hrefOf({ page: "room", project: building.project, space: room.id, revision: older })}>{room.name}</Link>
      </td>
      <td class="narrow">{row.storey}</td>
      <td class="narrow">{room.kind_name}</td>
      <td class="soft">
        {row.typical}
        {own.length > 0 && (
          <span class="own">
            {" "}
            own {own.join(", ")}
          </span>
        )}
      </td>
      <td class="n">{formatArea(room.area_m2, system)}</td>
      <td class="n narrow">{room.luminaires}</td>
      <td class="n">{printedValue(watts, "W")}</td>
      <td class="n narrow">{room.area_m2 > 0 ? formatValue(watts / room.area_m2, "W/m2", system) : ""}</td>
      <td class="n">
        {study !== null && (
          <>
            <span class="soft">{printedValue(kwhOf(study.annual.cases.as_found), "")} → </span>
            {printedValue(kwhOf(study.annual.cases.proposal), "kWh")}
          </>
        )}
      </td>
      <td class="saving">{study !== null && <Saving row={row} lowest={lowest} system={system} />}</td>
      <td>
        <YearPicture year={year} of={`${room.number} ${room.name}`} />
      </td>
      <td>{row.study !== null && <Rules row={row} />}</td>
      <td class="n">{row.missing === 0 ? "" : <b class="bad">{row.missing}</b>}</td>
    </tr>
  );
}

function Saving({ row, lowest, system }: { row: BuildingRow; lowest: number; system: UnitSystem }) {
  const saving = row.study?.annual.saving;
  if (saving === undefined) return null;
  const e = saving.against_as_found;
  const figure = formatResult(e.mean, e.low, e.high, "fraction", system);
  return (
    <span class="with-rail">
      <b class={e.mean < 0 ? "bad" : ""}>{figure}</b>
      <Rail {...e} from={lowest} to={1} found={saving.as_usually_found.mean} says={`${figure}, interval ${formatInterval(e.low, e.high, "fraction", system)}`} />
    </span>
  );
}

function Rules({ row }: { row: BuildingRow }) {
  if (row.study?.studied !== true) return <span class="soft">not studied</span>;
  if (row.failed + row.needs_evidence === 0) return <span class="good">met</span>;
  return (
    <>
      {row.failed > 0 && <b class="bad">{row.failed} failed </b>}
      {row.needs_evidence > 0 && <span>{row.needs_evidence} need{row.needs_evidence === 1 ? "s" : ""} evidence</span>}
    </>
  );
}

function Foot({ shown, whole, study, system }: { shown: readonly BuildingRow[]; whole: boolean; study: Study | null; system: UnitSystem }) {
  const sum = (of: (row: BuildingRow) => number) => shown.reduce((total, row) => total + of(row), 0);
  const area = sum((row) => row.room.area_m2);
  const watts = sum((row) => row.study?.connected_w ?? row.room.connected_w);
  const found = sum((row) => (row.study?.studied === true ? kwhOf(row.study.annual.cases.as_found) : 0));
  const proposal = sum((row) => (row.study?.studied === true ? kwhOf(row.study.annual.cases.proposal) : 0));
  const e = study?.totals.saving.against_as_found;
  return (
    <tfoot>
      <tr>
        <td />
        <th scope="row" colSpan={2}>
          together
        </th>
        <td class="narrow" />
        <td class="narrow" />
        <td class="soft">{shown.length} rooms</td>
        <td class="n">{formatArea(area, system)}</td>
        <td class="n narrow">{sum((row) => row.room.luminaires)}</td>
        <td class="n">{printedValue(watts, "W")}</td>
        <td class="n narrow">{area > 0 ? formatValue(watts / area, "W/m2", system) : ""}</td>
        <td class="n">
          {study !== null && (
            <>
              <span class="soft">{printedValue(found, "")} → </span>
              {printedValue(proposal, "kWh")}
            </>
          )}
        </td>
        <td class="saving">
          {/* The interval of a part of the building is not a sum of its rooms' intervals; only the mean is told. */}
          {study !== null && found > 0 && (
            <b>
              {whole && e !== undefined
                ? formatResult(e.mean, e.low, e.high, "fraction", system)
                : `${rounded(100 * (1 - proposal / found), 0)}${UNIT_SPACE}%`}
            </b>
          )}
        </td>
        <td />
        <td class="soft">{sum((row) => row.failed) > 0 ? `${sum((row) => row.failed)} failed` : ""}</td>
        <td class="n">{sum((row) => row.missing) || ""}</td>
      </tr>
    </tfoot>
  );
}
