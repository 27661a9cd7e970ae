// Several rooms changed at once: which field, to what, and what that will do before it is done.
import { useState } from "preact/hooks";
import type { Building } from "../api/contract";
import { inSentences } from "../app/api";
import { type Json, valueAt } from "../app/pointer";
import type { Editing } from "../sentence/context";
import { placeAt } from "../sentence/schema";
import { readTyped } from "../sentence/values";
import { BATCH_FIELDS, batchInWords, batchLabel, batchOf } from "./batch";

interface BatchBarProps {
  building: Building;
  document: Json;
  editing: Editing;
  selected: readonly string[];
  onDone: () => void;
}

export function BatchBar({ building, document, editing, selected, onDone }: BatchBarProps) {
  const [fieldId, setFieldId] = useState("delay");
  const [text, setText] = useState("");
  const [refused, setRefused] = useState("");
  const field = BATCH_FIELDS.find((one) => one.id === fieldId)!;
  const place = editing.schema === null ? null : placeAt(editing.schema, field.schema);
  if (place === null) return null;
  const options =
    field.id === "kind"
      ? editing.kinds
      : field.id === "typical"
        ? building.typicals.map((typical) => ({ value: typical.id, name: typical.name || typical.id }))
        : null;
  const read =
    text.trim() === ""
      ? null
      : options !== null
        ? { ok: true as const, value: text as Json }
        : readTyped(place.kind, text, undefined, place.standard ?? valueAt(document, `/spaces/0/${field.below.join("/")}`));
  const batch = read?.ok === true ? batchOf(document, selected, field, read.value) : null;
  const shownValue = options?.find((option) => option.value === text)?.name ?? text.trim();
  const save = async () => {
    if (batch === null || batch.edits.length === 0) return;
    const result = await editing.commit(batchLabel(batch, field, shownValue), batch.edits);
    if (result.kind === "refused") setRefused(inSentences(result.problem));
    else {
      setRefused("");
      setText("");
    }
  };
  return (
    <form
      class="batch"
      aria-label="Change the chosen rooms"
      onSubmit={(event) => {
        event.preventDefault();
        void save();
      }}
    >
      <b>
        {selected.length} {selected.length === 1 ? "room" : "rooms"} chosen
      </b>
      <label>
        set{" "}
        <select
          value={fieldId}
          onChange={(event) => {
            setFieldId(event.currentTarget.value);
            setText("");
          }}
        >
          {BATCH_FIELDS.map((one) => (
            <option key={one.id} value={one.id}>
              {one.words}
            </option>
          ))}
        </select>
      </label>
      <label>
        to{" "}
        {options === null ? (
          <input class="field" value={text} size={12} autocomplete="off" title={place.help} onInput={(event) => setText(event.currentTarget.value)} />
        ) : (
          <select value={text} onChange={(event) => setText(event.currentTarget.value)}>
            <option value="">choose</option>
            {options.map((option) => (
              <option key={option.value} value={option.value}>
                {option.name}
              </option>
            ))}
          </select>
        )}
      </label>
      <button type="submit" class="action" disabled={batch === null || batch.edits.length === 0}>
        change
      </button>
      <button type="button" class="word" onClick={onDone}>
        choose none
      </button>
      <span role="status" class={read?.ok === false || refused !== "" ? "bad says" : "soft says"}>
        {refused !== "" ? refused : read === null ? place.help : read.ok ? (batch === null ? "" : batchInWords(batch)) : read.problem}
      </span>
    </form>
  );
}
