// Somebody else saved first. Nothing is lost on either side; the person chooses what stands.
import { useCell } from "../app/cell";
import type { ProjectStore } from "../app/project";
import { Dialog } from "./dialog";

export function ConflictDialog({ project }: { project: ProjectStore }) {
  const { conflict, saving } = useCell(project.state);
  if (conflict === null) return null;
  const { since, label, wanted } = conflict;
  return (
    <Dialog heading="Somebody saved before you" onClose={null}>
      <p>
        “{label}” was made on an older revision. Since then {since.length === 1 ? "this was" : "these were"} saved:
      </p>
      <ul>
        {since.map((revision) => (
          <li key={revision.number}>
            revision {revision.number}: {revision.label}
          </li>
        ))}
      </ul>
      <p class="soft">
        {wanted === null
          ? "An undo would take that away as well, so it is not made."
          : "Your change can be made once more on top of it, or given up."}
      </p>
      <div class="actions">
        <button type="button" class="action" disabled={saving !== null} onClick={() => void project.takeTheirs()}>
          look at theirs
        </button>
        {wanted !== null && (
          <button type="button" class="action quiet" disabled={saving !== null} onClick={() => void project.mineAgain()}>
            do mine again on top
          </button>
        )}
      </div>
    </Dialog>
  );
}
