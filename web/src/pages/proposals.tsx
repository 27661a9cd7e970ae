// Proposals for the controls of one room: what stays and what is free, the search, and its designs side by side.
import { useState } from "preact/hooks";
import type { ControlPart, DrawnDesign, Problem, Room } from "../api/contract";
import { inSentences, problemOf } from "../app/api";
import { useCell } from "../app/cell";
import type { ProjectStore } from "../app/project";
import { roomQuestion, useProposals } from "../app/proposals";
import { useResource } from "../app/resource";
import { Link, hrefOf, navigate } from "../app/router";
import { api } from "../app/service";
import { units } from "../app/session";
import { useShown } from "../app/shown";
import { FrontChart } from "../proposals/chart";
import { Comparison } from "../proposals/comparison";
import { PARTS, inList, leftOut, partWords, progressWords, refusals, sideBySide, takeLabel } from "../proposals/words";
import { Shell } from "./shell";
import "../proposals/proposals.css";

export function ProposalsPage({ project: id, space }: { project: string; space: string }) {
  const { project, state, shown } = useShown(id, null);
  const room = useResource(`${id}/${space}`, shown === null ? null : String(shown), (signal) => api.room(id, space, shown, { signal }));
  const name = room.value === null ? space : `${room.value.number} ${room.value.name}`;
  return (
    <Shell
      title={`Proposals, ${name}`}
      project={project}
      crumbs={[
        { words: state.name || id, to: hrefOf({ page: "building", project: id, revision: null }) },
        { words: name, to: hrefOf({ page: "room", project: id, space, revision: null }) },
        { words: "proposals" },
      ]}
    >
      <main id="main" class="page proposals" aria-busy={room.loading}>
        <h1>Proposals for {name}</h1>
        {room.problem !== null && (
          <p role="alert" class="bad">
            {inSentences(room.problem)}
          </p>
        )}
        {room.value !== null && <View project={project} room={room.value} head={state.head} />}
      </main>
    </Shell>
  );
}

function View({ project, room, head }: { project: ProjectStore; room: Room; head: number }) {
  const system = useCell(units);
  const state = useProposals(project.id, room.id);
  const [kept, setKept] = useState<readonly ControlPart[]>(state.answer?.kept ?? room.decided);
  const [all, setAll] = useState(false);
  const [reading, setReading] = useState<number | null>(null);
  const [wanted, setWanted] = useState<{ design: number } | null>(null);
  const [taking, setTaking] = useState(false);
  const [wrong, setWrong] = useState<Problem | null>(null);
  const { answer, progress, problem } = state;
  const tried = answer === null ? 0 : answer.designs.length + answer.refused.length;
  const free = PARTS.map((one) => one.part).filter((part) => !kept.includes(part));
  const hasLuminaires = room.luminaires.some((l) => l.status !== "remove");
  const isOld = answer !== null && answer.revision !== head;

  const toggle = (part: ControlPart) => setKept(kept.includes(part) ? kept.filter((one) => one !== part) : [...kept, part]);
  const take = async (drawn: DrawnDesign, parts: ControlPart[] | null) => {
    if (answer === null) return;
    setTaking(true);
    setWrong(null);
    try {
      const edits =
        parts === null && !isOld
          ? drawn.edits
          : (await api.designEdits(project.id, room.id, { revision: head, proposals: answer.proposals, design: drawn.design, ...(parts === null ? {} : { parts }) })).edits;
      const result = await project.commit(takeLabel(room.number, answer.designs[drawn.design]!.name, parts), edits, head);
      if (result.kind === "saved") navigate(hrefOf({ page: "room", project: project.id, space: room.id, revision: null }));
      else if (result.kind === "unchanged") setWrong({ code: "unchanged", problem: "The room has this already.", remedy: "" });
    } catch (error) {
      setWrong(problemOf(error));
    } finally {
      setTaking(false);
    }
  };

  return (
    <>
      <section class="asks" aria-label="What is asked">
        <p class="lead">Complete control designs for this room, each through the same years, on the line between first cost and energy.</p>
        <div class="keeps" role="group" aria-labelledby="keeps-heading">
          <h2 id="keeps-heading">What stays as it is</h2>
          {PARTS.map(({ part, words, says }) => (
            <button key={part} type="button" class="word" aria-pressed={kept.includes(part)} title={`${says}; ${room.decided.includes(part) ? "the document has them" : "the document has nothing of them yet"}`} onClick={() => toggle(part)}>
              {words}
            </button>
          ))}
        </div>
        <p role="status">
          {!hasLuminaires
            ? "The room has no luminaires to control; put some into it first."
            : free.length === 0
              ? "Everything stays, so that nothing is left to choose. Press a part to free it."
              : `Free to choose: ${inList(free.map(partWords))}.`}
        </p>
        <div class="actions">
          <button type="button" class="action" disabled={free.length === 0 || !hasLuminaires || progress !== null} onClick={() => state.find(roomQuestion(project.id, room.id, head, kept))}>
            {answer === null ? "find designs" : "find them again"}
          </button>
          {progress !== null && (
            <span class="work" role="status">
              {progress === "begins" ? progress : progressWords(progress)} <progress {...(progress !== "begins" && progress.total > 0 ? { value: progress.done, max: progress.total } : {})} aria-label="progress of the search" />
              <button type="button" class="word" onClick={state.stop}>
                stop
              </button>
            </span>
          )}
          {progress === null && state.stopped && <span class="soft">Stopped.</span>}
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
          <p class="summary">
            {tried === 1 ? "1 design was" : `${tried} designs were`} tried with {inList(answer.free.map(partWords))} free;{" "}
            {answer.designs.length === 0 ? "none may be proposed." : `${answer.designs.length} may be proposed, ${answer.front.length} of them on the front.`}{" "}
            {answer.spaces.length > 1 && (
              <>
                Each stands for {answer.spaces.length === 2 ? "both rooms" : `all ${answer.spaces.length} rooms`} of one typical:{" "}
                {answer.spaces.map((one, i) => (
                  <span key={one}>
                    {i > 0 && ", "}
                    <Link to={hrefOf({ page: "room", project: project.id, space: one, revision: null })}>{one}</Link>
                  </span>
                ))}
                .
              </>
            )}
          </p>
          {answer.designs.length > 0 && (
            <>
              <FrontChart
                proposals={answer}
                reading={reading}
                onRead={setReading}
                onChoose={(design) => {
                  if (!sideBySide(answer, all).some((one) => one.design === design)) setAll(true);
                  setWanted({ design });
                }}
              />
              <section aria-labelledby="beside-heading">
                <div class="beside-head">
                  <h2 id="beside-heading">Side by side</h2>
                  {sideBySide(answer, true).length > sideBySide(answer, false).length && (
                    <span role="group" aria-label="Which designs">
                      <button type="button" class="word" aria-pressed={!all} onClick={() => setAll(false)}>
                        first in something
                      </button>
                      <button type="button" class="word" aria-pressed={all} onClick={() => setAll(true)}>
                        all {answer.front.length} of the front
                      </button>
                    </span>
                  )}
                </div>
                {wrong !== null && (
                  <p role="alert" class="bad">
                    {inSentences(wrong)}
                  </p>
                )}
                <Comparison proposals={answer} shown={sideBySide(answer, all)} room={room} system={system} reading={reading} wanted={wanted} onRead={setReading} onTake={taking || progress !== null ? null : (drawn, parts) => void take(drawn, parts)} />
              </section>
            </>
          )}
          <Others answer={answer} />
        </div>
      )}
    </>
  );
}

/** What was left out or refused, and why. */
function Others({ answer }: { answer: Parameters<typeof leftOut>[0] & Parameters<typeof refusals>[0] }) {
  const behind = leftOut(answer);
  const refused = refusals(answer);
  const count = (groups: readonly { names: string[] }[]) => groups.reduce((sum, group) => sum + group.names.length, 0);
  return (
    <>
      {behind.length > 0 && (
        <details class="others">
          <summary>{count(behind)} left out: no better in anything than another</summary>
          <dl>
            {behind.map((group) => (
              <div key={group.by}>
                <dt>no better in anything than {group.by}</dt>
                {group.names.map((name) => (
                  <dd key={name}>{name}</dd>
                ))}
              </div>
            ))}
          </dl>
        </details>
      )}
      {refused.length > 0 && (
        <details class="others" open={answer.designs.length === 0}>
          <summary>{count(refused)} refused</summary>
          <dl>
            {refused.map((group) => (
              <div key={group.because.join()}>
                <dt>{group.because.join(" ")}</dt>
                {group.names.map((name) => (
                  <dd key={name}>{name}</dd>
                ))}
              </div>
            ))}
          </dl>
        </details>
      )}
    </>
  );
}
