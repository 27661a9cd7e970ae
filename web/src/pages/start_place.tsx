// Where a building stands, when it is open and which codes it is checked against.
import { useMemo, useState } from "preact/hooks";
import type { FileAnswer, Library, Problem, StartSiteRequest } from "../api/contract";
import { inSentences, problemOf } from "../app/api";
import { useCell } from "../app/cell";
import type { ProjectStore } from "../app/project";
import { Link, type Route, hrefOf, navigate } from "../app/router";
import { api, projectStore } from "../app/service";
import { units } from "../app/session";
import { Calendars, type Typed, editsOfTyped } from "../start/calendars";
import { listIn, saidPlace } from "../start/document";
import { Drop } from "../start/drop";
import { Field } from "../start/field";
import { keep } from "../start/files";
import { useLibrary } from "../start/library";
import "../start/start.css";
import { Shell } from "./shell";

export function PlacePage({ project: id }: { project: string }) {
  const project = projectStore(id);
  const state = useCell(project.state);
  const library = useLibrary();
  return (
    <Shell title="Place, hours and codes" project={project} crumbs={[{ words: state.name || id, to: hrefOf({ page: "building", project: id, revision: null }) }, { words: "place, hours and codes" }]}>
      <main id="main" class="page start-place" aria-busy={library === null || state.phase === "loading"}>
        <h1>Where it stands, and when it is open</h1>
        {library !== null && state.phase === "ready" && <Place project={project} library={library} />}
      </main>
    </Shell>
  );
}

type Weather = Extract<FileAnswer, { role: "weather" }>;
type Clock = NonNullable<StartSiteRequest["clock"]>;
type Kind = NonNullable<StartSiteRequest["kind"]>;
type Code = { code: string; edition: string };

const clockAt = (longitude: number, latitude: number): Clock =>
  latitude < 20 ? "none" : longitude < -30 ? "north_america" : longitude < 45 && latitude > 34 ? "europe" : "none";

interface Hours {
  words: string;
  weekdays: string[];
  isOpen: boolean;
  open: string;
  close: string;
}
const FIRST_HOURS: Hours[] = [
  { words: "Monday to Friday", weekdays: ["mon", "tue", "wed", "thu", "fri"], isOpen: true, open: "08:00", close: "18:00" },
  { words: "Saturday", weekdays: ["sat"], isOpen: false, open: "09:00", close: "13:00" },
  { words: "Sunday", weekdays: ["sun"], isOpen: false, open: "10:00", close: "13:00" },
];

function Place({ project, library }: { project: ProjectStore; library: Library }) {
  const system = useCell(units);
  const { document, head } = project.state.value;
  // What the document says stands until something else is chosen.
  const said = useMemo(() => saidPlace(document), [document]);
  const hasPlace = said.climate !== "" || said.weather_file !== "";
  const [climate, setClimate] = useState<string | null>(null);
  const [weather, setWeather] = useState<Weather | null>(null);
  const usualClimate = hasPlace ? said.climate : (library.climates.find((c) => c.id === "temperate_maritime") ?? library.climates[0])?.id ?? "";
  const shownClimate = climate ?? usualClimate;
  const keepsClimate = hasPlace && weather === null && climate === null;
  const of = keepsClimate
    ? { latitude_deg: Number(said.latitude), longitude_deg: Number(said.longitude), utc_offset_h: Number(said.utc_offset) }
    : (weather ?? library.climates.find((c) => c.id === shownClimate) ?? null);
  const [latitude, setLatitude] = useState("");
  const [longitude, setLongitude] = useState("");
  const [offset, setOffset] = useState("");
  const [clock, setClock] = useState<Clock | null>(null);
  const [chosenKind, setKind] = useState<Kind | null>(null);
  const kind = chosenKind ?? ((said.kind || "alteration") as Kind);
  const [hours, setHours] = useState(FIRST_HOURS);
  const [codes, setCodes] = useState<Code[] | null>(null);
  const [typed, setTyped] = useState<Typed>({});
  const [problem, setProblem] = useState<Problem | null>(null);
  const [busy, setBusy] = useState(false);
  const number = (text: string, otherwise: number) => (text.trim() === "" ? otherwise : Number(text));
  const lat = number(latitude, of?.latitude_deg ?? 0);
  const long = number(longitude, of?.longitude_deg ?? 0);
  const utc = number(offset, of?.utc_offset_h ?? 0);
  const wrong = {
    latitude: Number.isFinite(lat) && Math.abs(lat) <= 90 ? undefined : "Degrees from -90 to 90, north positive.",
    longitude: Number.isFinite(long) && Math.abs(long) <= 180 ? undefined : "Degrees from -180 to 180, east positive.",
    offset: Number.isFinite(utc) && utc >= -12 && utc <= 14 ? undefined : "Hours from -12 to 14.",
  };
  const change = clock ?? (keepsClimate && said.clock !== null ? said.clock : clockAt(long, lat));
  const named = (c: Code) => `${c.code} ${c.edition}`;
  const usual = long < -30 ? "IECC 2021" : "EN 1838 2013";
  const chosen = codes ?? said.codes ?? library.codes.filter((c) => named(c) === usual);
  // Also what the document names and the library does not know.
  const listed = [...library.codes, ...chosen.filter((c) => !library.codes.some((known) => named(known) === named(c)))];
  const hasRooms = listIn(document, "spaces").length > 0;
  const next: Route = hasRooms ? { page: "building", project: project.id, revision: null } : { page: "add_room", project: project.id };
  const hasCalendar = listIn(document, "calendars").length > 0;
  const times = hours.filter((h) => h.isOpen);
  const calendarEdits = editsOfTyped(typed);
  const canSave = of !== null && calendarEdits !== null && Object.values(wrong).every((w) => w === undefined) && times.every((h) => h.open < h.close) && (hasCalendar || times.length > 0);

  const take = async (file: File) => {
    setBusy(true);
    setProblem(null);
    try {
      const answer = await keep(project.id, "weather", file);
      if (answer.role === "weather") setWeather(answer);
      else setProblem({ code: "bad_request", problem: `“${file.name}” is no weather file.`, remedy: "Choose a typical year, EPW or TMY3." });
    } catch (error) {
      setProblem(problemOf(error));
    } finally {
      setBusy(false);
    }
  };
  const save = async () => {
    setBusy(true);
    setProblem(null);
    try {
      const answer = await api.startSite(project.id, {
        revision: head,
        ...(weather !== null ? { weather_file: weather.path } : keepsClimate ? {} : { climate: shownClimate }),
        ...(latitude === "" && keepsClimate ? {} : { latitude_deg: lat }),
        ...(longitude === "" && keepsClimate ? {} : { longitude_deg: long }),
        ...(offset === "" && keepsClimate ? {} : { utc_offset_h: utc }),
        ...(change === "other" || change === said.clock ? {} : { clock: change }),
        ...(kind === said.kind ? {} : { kind }),
        unit: system === "us" ? "ft" : "m",
        ...(codes === null && said.codes !== null ? {} : { codes: chosen.map(({ code, edition }) => ({ code, edition })) }),
        hours: times.map(({ weekdays, open, close }) => ({ weekdays, open, close })),
      });
      const result = await project.commit(answer.label, [...answer.edits, ...(calendarEdits ?? [])], head);
      if (result.kind === "saved" || result.kind === "unchanged") navigate(hrefOf(next));
    } catch (error) {
      setProblem(problemOf(error));
    } finally {
      setBusy(false);
    }
  };
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        if (canSave) void save();
      }}
    >
      <section aria-labelledby="climate-heading">
        <h2 id="climate-heading">Weather</h2>
        <div class="climates" role="radiogroup" aria-labelledby="climate-heading">
          {library.climates.map((c) => (
            <label key={c.id}>
              <input
                type="radio"
                name="climate"
                checked={weather === null && shownClimate === c.id}
                onChange={() => {
                  setWeather(null);
                  setClimate(c.id);
                }}
              />{" "}
              {c.name} <span class="soft">generic, no one place</span>
            </label>
          ))}
        </div>
        {keepsClimate && said.weather_file !== "" && <p class="soft">{said.weather_file}, as the document has it.</p>}
        <Drop accept=".epw,.csv" words="Or drop a typical year of the place itself (EPW, TMY3):" busy={busy} onFile={(file) => void take(file)}>
          {weather !== null && (
            <p role="status">
              {weather.place}, {weather.latitude_deg}, {weather.longitude_deg}. <span class="soft">{weather.source}</span>
              {weather.warnings.map((w, i) => (
                <span key={i} class="soft">
                  {" "}
                  {inSentences(w)}
                </span>
              ))}
            </p>
          )}
        </Drop>
        <div class="row-four">
          <Field label="latitude, degrees north" value={latitude} placeholder={String(of?.latitude_deg ?? "")} problem={wrong.latitude} onValue={setLatitude} />
          <Field label="longitude, degrees east" value={longitude} placeholder={String(of?.longitude_deg ?? "")} problem={wrong.longitude} onValue={setLongitude} />
          <Field label="hours from universal time" value={offset} placeholder={String(of?.utc_offset_h ?? "")} problem={wrong.offset} onValue={setOffset} />
          <label class="named-field">
            <span>summer time</span>
            <select class="field" value={change} onChange={(e) => setClock(e.currentTarget.value as Clock)}>
              {change === "other" && <option value="other">as the document has it</option>}
              <option value="none">clocks do not change</option>
              <option value="europe">from the last Sunday of March to that of October</option>
              <option value="north_america">from the second Sunday of March to the first of November</option>
            </select>
          </label>
        </div>
      </section>
      <section aria-labelledby="hours-heading">
        <h2 id="hours-heading">Open</h2>
        {hasCalendar ? (
          <Calendars document={document} typed={typed} onTyped={setTyped} />
        ) : (
          hours.map((h, i) => {
            const set = (change: Partial<Hours>) => setHours(hours.map((o, k) => (k === i ? { ...o, ...change } : o)));
            return (
              <div key={h.words} class="hours">
                <label>
                  <input type="checkbox" checked={h.isOpen} onChange={(e) => set({ isOpen: e.currentTarget.checked })} /> {h.words}
                </label>
                {h.isOpen && (
                  <>
                    <label>
                      from{" "}
                      <input class="field" type="time" required aria-label={`${h.words}, from`} value={h.open} onInput={(e) => set({ open: e.currentTarget.value })} />
                    </label>
                    <label>
                      to{" "}
                      <input class="field" type="time" required aria-label={`${h.words}, to`} value={h.close} onInput={(e) => set({ close: e.currentTarget.value })} />
                    </label>
                    {h.open >= h.close && <span class="bad">It closes before it opens.</span>}
                  </>
                )}
              </div>
            );
          })
        )}
      </section>
      <section aria-labelledby="codes-heading">
        <h2 id="codes-heading">What it is, and the codes that apply</h2>
        <label class="row">
          <span>the work is</span>
          <select class="field" value={kind} onChange={(e) => setKind(e.currentTarget.value as Kind)}>
            <option value="alteration">a refit of what stands there</option>
            <option value="new_building">a new building</option>
            <option value="addition">an addition</option>
          </select>
        </label>
        <div class="codes" role="group" aria-labelledby="codes-heading">
          {listed.map((c) => (
            <label key={named(c)}>
              <input
                type="checkbox"
                checked={chosen.some((one) => named(one) === named(c))}
                onChange={(e) => setCodes([...chosen.filter((one) => named(one) !== named(c)), ...(e.currentTarget.checked ? [c] : [])])}
              />{" "}
              {named(c)}
            </label>
          ))}
        </div>
      </section>
      {problem !== null && (
        <p role="alert" class="bad">
          {inSentences(problem)}
        </p>
      )}
      <p class="actions start-go">
        <button class="action" disabled={!canSave || busy}>
          {hasRooms ? "save" : "save, and add a room"}
        </button>
        <Link to={hrefOf(next)}>{hasRooms ? "leave it as it is" : "later"}</Link>
      </p>
    </form>
  );
}
