// What is missing before issue, worst first, each with the way to its place.
import { useState } from "preact/hooks";
import type { Building, Pointer } from "../api/contract";
import { type Json, valueAt } from "../app/pointer";
import { Link, hrefOf } from "../app/router";
import { type Editing, EditingContext } from "../sentence/context";
import { Phrases } from "../sentence/phrase";
import { placeAt } from "../sentence/schema";
import { isTyped } from "../sentence/values";
import { type OpenIssue, SEVERITIES, type Severity } from "./issues";
import { placeInWords, valueOfPlaceInWords } from "./words";

interface IssueListProps {
  building: Building;
  document: Json;
  editing: Editing;
  issues: readonly OpenIssue[];
  /** Whether the rooms were studied: code verdicts are among the list only then. */
  isStudied: boolean;
  older: number | null;
  onTypical: (typical: string) => void;
}

export function IssueList({ building, document, editing, issues, isStudied, older, onTypical }: IssueListProps) {
  const [severity, setSeverity] = useState<Severity | "all">("all");
  const listed = severity === "all" ? issues : issues.filter((issue) => issue.severity === severity);
  return (
    <section id="missing" aria-labelledby="missing-heading">
      <h2 id="missing-heading">Missing before issue</h2>
      {issues.length === 0 ? (
        <p class={isStudied ? "good" : "soft"}>{isStudied ? "Nothing." : "Nothing in the document; rules are judged when the building is studied."}</p>
      ) : (
        <>
          <div class="filters" role="group" aria-label="Show">
            {(["all", ...SEVERITIES] as const).map((kind) => {
              const count = kind === "all" ? issues.length : issues.filter((issue) => issue.severity === kind).length;
              if (count === 0) return null;
              return (
                <button key={kind} type="button" class="word" aria-pressed={severity === kind} onClick={() => setSeverity(kind)}>
                  {kind} {count}
                </button>
              );
            })}
          </div>
          <EditingContext.Provider value={editing}>
            <ul class="missing">
              {listed.map((issue, i) => (
                <li key={i}>
                  <span class={["error", "blocks issue", "fails a rule"].includes(issue.severity) ? "severity bad" : "severity"}>
                    {issue.severity}
                  </span>
                  <span>
                    {issue.room !== null && (
                      <>
                        <Link to={hrefOf({ page: "room", project: building.project, space: issue.room.id, revision: older })}>
                          {issue.room.number} {issue.room.name}
                        </Link>
                        {": "}
                      </>
                    )}
                    {issue.typical !== null && (
                      <>
                        <a
                          href="#typicals"
                          onClick={() => {
                            if (issue.typical !== null) onTypical(issue.typical);
                          }}
                        >
                          typical {issue.typical}
                        </a>
                        {": "}
                      </>
                    )}
                    {issue.text} <span class="soft">{issue.remedy}</span>{" "}
                    {issue.where !== null && <Where document={document} editing={editing} where={issue.where} />}
                  </span>
                </li>
              ))}
            </ul>
          </EditingContext.Provider>
        </>
      )}
    </section>
  );
}

/** The place itself: where its value can be typed, it can be typed here. */
function Where({ document, editing, where }: { document: Json; editing: Editing; where: Pointer }) {
  const place = editing.schema === null ? null : placeAt(editing.schema, where);
  const value = valueAt(document, where);
  const editable = place !== null && (isTyped(place.kind) || place.kind.kind === "choice" || place.kind.kind === "truth");
  return (
    <span title={where}>
      <span class="soft">{placeInWords(document, where)}: </span>
      {editable ? <Phrases phrases={[{ text: valueOfPlaceInWords(editing, where, value), pointer: where }]} /> : <code class="soft">{where}</code>}
    </span>
  );
}
