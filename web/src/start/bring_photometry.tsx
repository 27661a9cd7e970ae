import { useState } from "preact/hooks";
import type { FileAnswer, Problem } from "../api/contract";
import { inSentences, problemOf } from "../app/api";
import type { ProjectStore } from "../app/project";
import { printedValue } from "../units/figures";
import { listIn, textIn } from "./document";
import { Drop } from "./drop";
import { keep } from "./files";

/** A photometric file becomes a luminaire type of the project. */
export function BringPhotometry({ project, onType }: { project: ProjectStore; onType: (id: string) => void }) {
  const [said, setSaid] = useState<Extract<FileAnswer, { role: "photometry" }> | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [busy, setBusy] = useState(false);
  const take = async (file: File) => {
    setBusy(true);
    setProblem(null);
    setSaid(null);
    try {
      const answer = await keep(project.id, "photometry", file);
      if (answer.role !== "photometry") {
        setProblem({ code: "bad_request", problem: `“${file.name}” holds no light of a luminaire.`, remedy: "Choose a file that ends in .ies or .ldt." });
        return;
      }
      const types = listIn(project.state.value.document, "luminaire_types");
      const taken = new Set(types.map((t) => textIn(t, "id")));
      let id = answer.luminaire_type.id;
      for (let n = 2; taken.has(id); n += 1) id = `${answer.luminaire_type.id}-${n}`;
      const type = { ...answer.luminaire_type, id };
      const edit = types.length > 0 ? { op: "add" as const, path: "/luminaire_types/-", value: type } : { op: "add" as const, path: "/luminaire_types", value: [type] };
      const result = await project.commit(`luminaire type ${id} from ${file.name}`, [edit]);
      if (result.kind === "saved") onType(id);
      setSaid(answer);
    } catch (error) {
      setProblem(problemOf(error));
    } finally {
      setBusy(false);
    }
  };
  return (
    <Drop accept=".ies,.ldt" words="Or drop a photometric file (.ies, .ldt):" busy={busy} onFile={(file) => void take(file)}>
      {said !== null && (
        <p role="status">
          {said.luminaire_type.name}: {printedValue(said.lumens, "lm")}, {said.input_w > 0 ? printedValue(said.input_w, "W") : "watts not stated: type them on the room's page"}.
          {said.warnings.map((w, i) => (
            <span key={i} class="soft">
              {" "}
              {inSentences(w)}
            </span>
          ))}
        </p>
      )}
      {problem !== null && (
        <p role="alert" class="bad">
          {inSentences(problem)}
        </p>
      )}
    </Drop>
  );
}
