import "./early";
import { render } from "preact";
import { useEffect } from "preact/hooks";
import { useCell } from "./app/cell";
import { startKeys } from "./app/keys";
import { route } from "./app/router";
import { theme } from "./app/session";
import "./look/look.css";
import { AssumptionsPage } from "./pages/assumptions";
import { BuildingPage } from "./pages/building";
import { ComparePage } from "./pages/compare";
import { NotFoundPage } from "./pages/placeholder";
import { RevisionsPage } from "./pages/revisions";
import { RoomPage } from "./pages/room/room";
import { showsHelp } from "./pages/shell";
import { StartPage } from "./pages/start";
import { PastePage } from "./pages/start_paste";
import { PlacePage } from "./pages/start_place";
import { AddRoomPage } from "./pages/start_room";

function App() {
  const at = useCell(route);
  const look = useCell(theme);
  useEffect(() => {
    if (look === "system") delete document.documentElement.dataset["theme"];
    else document.documentElement.dataset["theme"] = look;
  }, [look]);
  switch (at.page) {
    case "start":
      return <StartPage />;
    case "building":
      return <BuildingPage key={at.project} project={at.project} revision={at.revision} />;
    case "room":
      return <RoomPage key={`${at.project}/${at.space}`} project={at.project} space={at.space} revision={at.revision} />;
    case "revisions":
      return <RevisionsPage key={at.project} project={at.project} />;
    case "assumptions":
      return <AssumptionsPage key={at.project} project={at.project} revision={at.revision} />;
    case "place":
      return <PlacePage key={at.project} project={at.project} />;
    case "add_room":
      return <AddRoomPage key={at.project} project={at.project} />;
    case "paste":
      return <PastePage key={at.project} project={at.project} />;
    case "compare":
      return <ComparePage key={at.project} project={at.project} />;
    case "not_found":
      return <NotFoundPage path={at.path} />;
  }
}

startKeys(() => showsHelp.set(true));
render(<App />, document.body);
