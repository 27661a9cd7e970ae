import "./early";
import { render } from "preact";
import { useEffect, useState } from "preact/hooks";
import { useCell } from "./app/cell";
import { startKeys } from "./app/keys";
import { type Route, route } from "./app/router";
import { theme } from "./app/session";
import "./look/look.css";
import { loadPage, pageOf } from "./pages/pages";
import { showsHelp } from "./pages/shell";

/** What tells one page from another: within it the page itself follows the address. */
function keyOf(at: Route): string {
  return [at.page, "project" in at ? at.project : "", "space" in at ? at.space : ""].join("/");
}

function App() {
  const at = useCell(route);
  const look = useCell(theme);
  useEffect(() => {
    if (look === "system") delete document.documentElement.dataset["theme"];
    else document.documentElement.dataset["theme"] = look;
  }, [look]);
  const [, setArrived] = useState("");
  const [isGone, setIsGone] = useState(false);
  useEffect(() => {
    loadPage(at.page).then(
      () => setArrived(at.page),
      () => setIsGone(true),
    );
  }, [at.page]);
  const Page = pageOf(at.page);
  if (Page !== null) {
    const { page: _, ...props } = at;
    return <Page key={keyOf(at)} {...props} />;
  }
  if (!isGone) return <main id="main" class="page" aria-busy="true" />;
  return (
    <main id="main" class="page">
      <p role="alert" class="bad">
        This page cannot be loaded: the program was stopped, or is now another version.
      </p>
      <p>
        <a href={location.href}>load it again</a>
      </p>
    </main>
  );
}

startKeys(() => showsHelp.set(true));
render(<App />, document.body);
