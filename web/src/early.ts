// Runs before the pages are there: asks the service for what the page of this address will need, while the browser
// still reads the script.
import { route, startRouter } from "./app/router";
import { projectSchema, projectStore } from "./app/service";
import { loadPage } from "./pages/pages";

startRouter();
const at = route.value;
if ("project" in at) projectStore(at.project);
// Whoever shows them says what is wrong when they do not come.
if (at.page === "room") projectSchema().catch(() => {});
loadPage(at.page).catch(() => {});
