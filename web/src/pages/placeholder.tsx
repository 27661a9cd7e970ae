// Addresses at which nothing stands.
import { Link } from "../app/router";
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
