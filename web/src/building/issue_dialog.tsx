// A revision issued: by whom, under which name, frozen with its study.
import { useState } from "preact/hooks";
import { problemOf, inSentences } from "../app/api";
import { api } from "../app/service";
import { Dialog } from "../pages/dialog";

interface IssueDialogProps {
  project: string;
  revision: number;
  /** Of the study of that revision. */
  run: string;
  accuracy: string;
  /** Why it cannot be issued; empty when it can. */
  obstacles: readonly string[];
  onClose: () => void;
  onIssued: () => void;
}

export function IssueDialog({ project, revision, run, accuracy, obstacles, onClose, onIssued }: IssueDialogProps) {
  const [name, setName] = useState("");
  const [by, setBy] = useState("");
  const [problem, setProblem] = useState("");
  const [busy, setBusy] = useState(false);
  const issue = async () => {
    setBusy(true);
    try {
      await api.issue(project, { base: revision, name: name.trim(), by: by.trim(), run });
      onIssued();
    } catch (error) {
      setProblem(inSentences(problemOf(error)));
      setBusy(false);
    }
  };
  return (
    <Dialog heading={`Issue revision ${revision}`} onClose={onClose}>
      {obstacles.length > 0 ? (
        <>
          <p>It is not to be issued yet:</p>
          <ul>
            {obstacles.map((obstacle, i) => (
              <li key={i}>{obstacle}</li>
            ))}
          </ul>
          <p class="actions">
            <button type="button" class="action" onClick={onClose}>
              good
            </button>
          </p>
        </>
      ) : (
        <form
          onSubmit={(event) => {
            event.preventDefault();
            void issue();
          }}
        >
          <p>
            The revision, its study ({accuracy} accuracy) and the hashes of program, library and files are kept as they
            are from now on. Work goes on in further revisions.
          </p>
          <p class="pairs">
            <label for="issue-name">name of the issue</label>
            <input id="issue-name" class="field" value={name} maxLength={120} onInput={(event) => setName(event.currentTarget.value)} />
            <label for="issue-by">issued by</label>
            <input id="issue-by" class="field" value={by} maxLength={120} required onInput={(event) => setBy(event.currentTarget.value)} />
          </p>
          {problem !== "" && (
            <p class="bad" role="alert">
              {problem}
            </p>
          )}
          <p class="actions">
            <button type="submit" class="action" disabled={busy || by.trim() === ""}>
              issue
            </button>
            <button type="button" class="action quiet" onClick={onClose}>
              not now
            </button>
          </p>
        </form>
      )}
    </Dialog>
  );
}
