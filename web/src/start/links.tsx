// The ways into a building's rooms, for any page of the project.
import { Link, hrefOf } from "../app/router";

export function StartLinks({ project }: { project: string }) {
  return (
    <>
      <Link to={hrefOf({ page: "add_room", project })}>add a room</Link>
      <Link to={hrefOf({ page: "paste", project })}>paste rooms from a spreadsheet</Link>
      <Link to={hrefOf({ page: "place", project })}>place, hours and codes</Link>
    </>
  );
}
