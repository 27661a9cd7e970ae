// What the scene that the plan shows does beside setting levels: shades, daylight, demand response, and what calls it.
import type { Edit, Pointer, Room, Scene } from "../../api/contract";
import { type Json, editsToSet, valueAt } from "../../app/pointer";

const SHADES: readonly { value: Scene["shades"]; words: string }[] = [
  { value: "as_they_stand", words: "as they stand" },
  { value: "drawn", words: "drawn" },
  { value: "raised", words: "raised" },
];

interface Props {
  room: Room;
  scene: Scene;
  document: Json;
  readOnly: boolean;
  onCommit: (label: string, edits: Edit[], pointer: Pointer) => Promise<unknown>;
}

export function SceneBehaviour({ room, scene, document, readOnly, onCommit }: Props) {
  const interfaces = (valueAt(document, `${room.proposal}/interfaces`) ?? []) as { id: string; tag?: string; space?: string; kind?: string }[];
  const contacts = interfaces.filter((one) => one.kind === "audio_visual" && one.space === room.id);
  const set = (key: string, words: string, value: Json | undefined) => {
    const path = `${scene.pointer}/${key}`;
    void onCommit(`${room.number}: scene ${scene.name}, ${words}`, editsToSet(document, path, value), path);
  };
  const yesOrNo = (key: "follows_daylight" | "in_demand_response", words: string) => (
    <label>
      <input
        type="checkbox"
        checked={scene[key]}
        disabled={readOnly}
        onChange={(event) => set(key, `${event.currentTarget.checked ? "" : "no "}${words}`, event.currentTarget.checked)}
      />{" "}
      {words}
    </label>
  );
  return (
    <p class="behaviour" role="group" aria-label={`What scene ${scene.name} does beside its levels`}>
      <label>
        shades{" "}
        <select
          class="beside-word"
          disabled={readOnly}
          value={scene.shades}
          onChange={(event) => {
            const chosen = SHADES.find((one) => one.value === event.currentTarget.value)!;
            set("shades", `shades ${chosen.words}`, chosen.value);
          }}
        >
          {SHADES.map(({ value, words }) => (
            <option key={value} value={value}>
              {words}
            </option>
          ))}
        </select>
      </label>
      {yesOrNo("follows_daylight", "daylight control")}
      {yesOrNo("in_demand_response", "demand response")}
      {contacts.length > 0 && (
        <label>
          also called by{" "}
          <select
            class="beside-word"
            disabled={readOnly}
            value={scene.called_by}
            onChange={(event) => {
              const id = event.currentTarget.value;
              set("called_by", id === "" ? "called by no contact" : `also called by ${id}`, id === "" ? undefined : id);
            }}
          >
            <option value="">no contact</option>
            {contacts.map((contact) => (
              <option key={contact.id} value={contact.id}>
                {contact.tag || contact.id}
              </option>
            ))}
          </select>
        </label>
      )}
    </p>
  );
}
