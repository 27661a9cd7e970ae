// Proposals for the building: every room's designs on one line between first cost and energy, and how far to go along it.
import { useState } from "preact/hooks";
import type { Building, BuildingLine, BuildingProposals, ControlPart, LineEdits, Problem } from "../api/contract";
import { inSentences, problemOf } from "../app/api";
import { useCell } from "../app/cell";
import type { ProjectStore } from "../app/project";
import { buildingQuestion, useBuildingProposals } from "../app/proposals";
import { Link, hrefOf } from "../app/router";
import { api } from "../app/service";
import { units } from "../app/session";
import { useBuilding, useShown } from "../app/shown";
import { firstLook, lineLabel, needsWords, neighbours, pickAt, roomsInWords, searchWords, stepsWords, unpricedWords } from "../proposals/line";
import { LineChart } from "../proposals/line_chart";
import { Points, RoomDesigns, Steps } from "../proposals/line_tables";
import { PARTS, costWords, inList, partWords } from "../proposals/words";
import { figureOf } from "../units/estimate";
import { Shell } from "./shell";
import "../proposals/proposals.css";
import "../proposals/line.css";

export function BuildingProposalsPage({ project: id }: { project: string }) {
  const showing = useShown(id, null);
  const { project, state } = showing;
  const { value, problem } = useBuilding(id, showing);
  return (
    <Shell title={`Proposals, ${state.name}`} project={project} crumbs={[{ words: state.name || id, to: hrefOf({ page: "building", project: id, revision: null }) }, { words: "proposals" }]}>
      <main id="main" class="page proposals" aria-busy={value === null}>
        <h1>Proposals for the building</h1>
        {problem !== null && (
          <p role="alert" class="bad">
            {inSentences(problem)}
          </p>
        )}
        {value !== null && <View project={project} building={value.answer} head={state.head} />}
      </main>
    </Shell>
  );
}

function View({ project, building, head }: { project: ProjectStore; building: Building; head: number }) {
  const state = useBuildingProposals(project.id);
  const { answer, progress, problem } = state;
  const [kept, setKept] = useState<readonly ControlPart[] | null>(answer === null ? null : answer.kept);
  const free = PARTS.map((one) => one.part).filter((part) => !kept?.includes(part));
  const isOld = answer !== null && answer.revision !== head;
  const toggle = (part: ControlPart) => setKept(kept === null ? [part] : kept.includes(part) ? kept.filter((one) => one !== part) : [...kept, part]);
  return (
    <>
      <section class="asks" aria-label="What is asked">
        <p class="lead">The designs of all rooms on one line between first cost and energy, and where on it the next of the money buys most.</p>
        <div class="keeps" role="group" aria-labelledby="keeps-heading">
          <h2 id="keeps-heading">What stays as it is</h2>
          <button type="button" class="word" aria-pressed={kept === null} title="each room is free in what the document has nothing of yet" onClick={() => setKept(kept === null ? [] : null)}>
            what each room has
          </button>
          {PARTS.map(({ part, words, says }) => (
            <button key={part} type="button" class="word" aria-pressed={kept?.includes(part) === true} title={says} onClick={() => toggle(part)}>
              {words}
            </button>
          ))}
        </div>
        <p role="status">
          {kept === null
            ? "Free to choose: what rooms have nothing of yet. Press it to free all, or a part that is to stay."
            : free.length === 0
              ? "Everything stays, so that nothing is left to choose. Press a part to free it."
              : `Free to choose in every room: ${inList(free.map(partWords))}.`}
        </p>
        <div class="actions">
          <button type="button" class="action" disabled={free.length === 0 || progress !== null} onClick={() => state.find(buildingQuestion(project.id, head, kept))}>
            {answer === null ? "find designs" : "find them again"}
          </button>
          {progress !== null && (
            <span class="work" role="status">
              {progress === "begins" ? progress : searchWords(progress, building)}{" "}
              <progress {...(progress === "begins" ? {} : { value: progress.rooms_done, max: progress.rooms_total })} aria-label="rooms that are done" />
              <button type="button" class="word" onClick={state.stop}>
                stop
              </button>
            </span>
          )}
          {progress === null && state.stopped && <span class="soft">Stopped. Rooms that were done need not be looked at again.</span>}
        </div>
        {problem !== null && (
          <p role="alert" class="bad">
            {inSentences(problem)}
          </p>
        )}
      </section>
      {answer !== null && (
        <div class={isOld || progress !== null ? "found old" : "found"}>
          {isOld && (
            <p class="message" role="status">
              These were found for revision {answer.revision}; the newest is {head}.
            </p>
          )}
          {answer.building === null ? (
            <p class="summary" role="status">
              No room has anything to choose: what stays leaves nothing free, or no design may be proposed. Free a part above and find designs.
            </p>
          ) : (
            <Line key={answer.proposals} project={project} building={building} answer={answer} line={answer.building} head={head} works={progress !== null} />
          )}
          <Without project={project.id} building={building} answer={answer} />
        </div>
      )}
    </>
  );
}

/** How many steps were chosen last, by the name of the proposals. */
const chosenLast = new Map<string, number>();

function Line({ project, building, answer, line, head, works }: { project: ProjectStore; building: Building; answer: BuildingProposals; line: BuildingLine; head: number; works: boolean }) {
  const system = useCell(units);
  const [chosen, setChosen] = useState(chosenLast.get(answer.proposals) ?? firstLook(line));
  const [taking, setTaking] = useState(false);
  const [wrong, setWrong] = useState<Problem | null>(null);
  const [taken, setTaken] = useState<{ revision: number; with: LineEdits } | null>(null);
  const { currency } = answer;
  const choose = (steps: number) => {
    chosenLast.set(answer.proposals, steps);
    setChosen(steps);
  };
  const take = async () => {
    setTaking(true);
    setWrong(null);
    setTaken(null);
    try {
      const edits = await api.lineEdits(project.id, { revision: head, proposals: answer.proposals, steps: chosen });
      const result = await project.commit(lineLabel(line, chosen), edits.edits, head);
      if (result.kind === "saved") setTaken({ revision: result.revision, with: edits });
      else if (result.kind === "unchanged") setWrong({ code: "unchanged", problem: "The rooms have these designs already.", remedy: "" });
    } catch (error) {
      setWrong(problemOf(error));
    } finally {
      setTaking(false);
    }
  };
  const here = line.sums[chosen]!;
  const pick = pickAt(line, chosen);
  const beside = neighbours(line, chosen, building, currency);
  const says = `${line.steps.length === 0 ? stepsWords(line, chosen) : `${stepsWords(line, chosen)} taken`}${pick === null ? "" : `, ${pick}`}: first cost ${costWords(here.cost, currency)}, ${figureOf(here.kwh, "kWh", system)} a year, saving ${figureOf(here.saving_against_as_found, "fraction", system)}. ${beside.last}`;
  const rooms = line.rooms.reduce((sum, room) => sum + room.spaces.length, 0);
  const unlike = line.rooms.filter((room) => room.own === null);
  const unpriced = unpricedWords(here);
  return (
    <>
      <section class="line-view" aria-labelledby="line-heading">
        <h2 id="line-heading">
          {rooms === 1 ? "1 room" : `${rooms} rooms`}: first cost against energy
        </h2>
        <LineChart line={line} currency={currency} chosen={chosen} says={says} onChoose={choose} />
        <div class="figures">
          <Points line={line} currency={currency} system={system} chosen={chosen} onChoose={choose} />
          <p class="walk">
            <button type="button" class="word" disabled={chosen === 0} onClick={() => choose(chosen - 1)}>
              one step less
            </button>
            <button type="button" class="word" disabled={chosen === line.steps.length} onClick={() => choose(chosen + 1)}>
              one step more
            </button>
            <button type="button" class="action" disabled={taking || works} onClick={() => void take()}>
              take these designs
            </button>
          </p>
          <p class="nearby">{beside.last}</p>
          <p class="nearby soft">{beside.next}</p>
        </div>
      </section>
      {wrong !== null && (
        <p role="alert" class="bad">
          {inSentences(wrong)}
        </p>
      )}
      {taken !== null && (
        <p role="status" class="taken-note">
          Saved as revision {taken.revision}. {needsWords(taken.with, currency)} <Link to={hrefOf({ page: "building", project: project.id, revision: null })}>to the building</Link>
        </p>
      )}
      <p class="soft notes">
        Along the line no other choice of designs whose prices are known costs as little and draws less. {unpriced}
        {unlike.length > 0 && ` What stands now has no place in it: the document's own design may not be proposed in ${inList(unlike.map((room) => roomsInWords(room.spaces, building)))}.`}
      </p>
      {line.steps.length > 0 && (
        <section aria-labelledby="steps-heading">
          <h2 id="steps-heading">Steps, where a kWh costs least first</h2>
          <Steps line={line} currency={currency} system={system} chosen={chosen} onChoose={choose} project={project.id} building={building} />
        </section>
      )}
      <section aria-labelledby="designs-heading">
        <h2 id="designs-heading">What each room gets</h2>
        <RoomDesigns line={line} currency={currency} system={system} chosen={chosen} project={project.id} building={building} />
      </section>
    </>
  );
}

/** Rooms that are not on the line, and why. */
function Without({ project, building, answer }: { project: string; building: Building; answer: BuildingProposals }) {
  if (answer.without.length === 0) return null;
  return (
    <section aria-labelledby="without-heading">
      <h2 id="without-heading">Rooms without proposals</h2>
      <table class="rows">
        <thead>
          <tr>
            <th scope="col">room</th>
            <th scope="col">why</th>
          </tr>
        </thead>
        <tbody>
          {answer.without.map(({ spaces, because }) => (
            <tr key={spaces[0]}>
              <td class="name">
                <Link to={hrefOf({ page: "proposals", project, space: spaces[0]! })}>{roomsInWords(spaces, building)}</Link>
              </td>
              <td>{because}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
