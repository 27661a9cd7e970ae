// Pages that are addresses already and hold only their way back.
import { Link, hrefOf } from "../app/router";
import { projectStore } from "../app/service";
import { useCell } from "../app/cell";
import { Shell } from "./shell";

export function NotFoundPage({ path }: { path: string }) {
  return (
    <Shell title="Not found">
      <main id="main" class="page">
        <h1>Nothing stands at this address</h1>
        <p>
          <code>{path}</code>
        </p>
        <p>
          <Link to="/">to the projects</Link>
        </p>
      </main>
    </Shell>
  );
}

/** Assumptions and comparison are shown by the reports until their pages stand. */
export function ComingPage({ project: id, heading }: { project: string; heading: string }) {
  const project = projectStore(id);
  const state = useCell(project.state);
  return (
    <Shell
      title={heading}
      project={project}
      crumbs={[
        { words: state.name || id, to: hrefOf({ page: "building", project: id, revision: null }) },
        { words: heading.toLowerCase() },
      ]}
    >
      <main id="main" class="page">
        <h1>{heading}</h1>
      </main>
    </Shell>
  );
}
