// One phrase that stands for a value: read in place, edited in place, dragged where it is a number.
import { useContext, useLayoutEffect, useRef, useState } from "preact/hooks";
import type { Phrase as Words, Pointer } from "../api/contract";
import { inSentences } from "../app/api";
import { useCell } from "../app/cell";
import { type Json, valueAt } from "../app/pointer";
import { touched } from "../app/session";
import { editsFollowed, reachInWords, reachOf } from "../building/typicals";
import { choicesAt, nameOfPlace, typicalOf } from "./choices";
import { type Editing, EditingContext } from "./context";
import { ChecksEditor, ChoiceEditor, type EditorProps, RecordEditor, TypedEditor, moved } from "./editors";
import { type Place, inWords, placeAt } from "./schema";
import { isDragged, isTyped, phraseInSystem, readTyped, textOf } from "./values";

/** Movement of the pointer for one step of a value. */
const STEP_PX = 7;
/** Less movement than this is a click. */
const CLICK_PX = 4;

export function Phrases({ phrases }: { phrases: readonly Words[] }) {
  // Told apart by what they state, not by where they stand: one that is edited stays open while words before it come or go.
  const said = new Map<Pointer, number>();
  const keyOf = (pointer: Pointer) => {
    const times = (said.get(pointer) ?? 0) + 1;
    said.set(pointer, times);
    return `${pointer} ${times}`;
  };
  return (
    <>
      {phrases.map((phrase) =>
        phrase.pointer === undefined ? (
          phrase.text
        ) : (
          <ValuePhrase key={keyOf(phrase.pointer)} text={phrase.text} pointer={phrase.pointer} />
        ),
      )}
    </>
  );
}

/** Whether an editor knows what to do with the place. */
function canEdit(place: Place, choices: readonly unknown[] | null): boolean {
  const { kind } = place;
  if (isTyped(kind) || kind.kind === "choice" || kind.kind === "truth") return true;
  if (kind.kind === "list") return choices !== null && choices.length > 0;
  return kind.kind === "record";
}

function ValuePhrase({ text, pointer }: { text: string; pointer: Pointer }) {
  const editing = useContext(EditingContext);
  const hot = useCell(touched) === pointer;
  const [open, setOpen] = useState(false);
  const [dragged, setDragged] = useState<string | null>(null);
  const [waits, setWaits] = useState<string | null>(null);
  const [refused, setRefused] = useState("");
  const ref = useRef<HTMLSpanElement>(null);
  const returns = useRef(false);
  useLayoutEffect(() => {
    if (open || !returns.current) return;
    returns.current = false;
    ref.current?.focus({ preventScroll: true });
  }, [open]);
  // What was saved stands in its place until the sentence of the new revision has come.
  useLayoutEffect(() => setWaits(null), [editing?.revision]);

  if (editing === null || editing.schema === null) return <span class="phrase" aria-disabled="true">{text}</span>;
  const { document, schema, system, readOnly } = editing;
  const place = placeAt(schema, pointer);
  const value = valueAt(document, pointer);
  const choices = choicesAt(document, pointer, editing.kinds);
  const wrong = editing.diagnostics.find((d) => d.severity === "error" && d.where === pointer);
  // The sentence is written with the standard in place of a value that cannot be read; here stands what was typed.
  const shown =
    wrong !== undefined && place !== null && isTyped(place.kind)
      ? textOf(place.kind, value)
      : phraseInSystem(text, place?.kind ?? null, value, system);
  if (place === null || readOnly || !canEdit(place, choices))
    return (
      <span class={hot ? "phrase hot" : "phrase"} aria-disabled="true">
        {shown}
      </span>
    );

  const name = nameOfPlace(document, pointer);
  const typical = typicalOf(document, pointer);
  const leave = () => {
    returns.current = ref.current === null || open;
    setOpen(false);
    setRefused("");
    editing.preview(null);
  };
  const commit = async (next: Json | undefined) => {
    touched.set(pointer);
    returns.current = open;
    const edits = editsFollowed(document, pointer, next);
    if (edits.length === 0) {
      leave();
      return;
    }
    setWaits(next === undefined ? null : textOf(place.kind, next));
    const result = await editing.commit(labelOf(editing, name, place, next), edits);
    if (result.kind !== "saved") setWaits(null);
    editing.preview(null);
    if (result.kind === "refused") setRefused(inSentences(result.problem));
    else setOpen(false);
  };

  if (open) {
    const props: EditorProps = {
      name,
      place,
      value,
      system,
      remark: remarkOf(document, pointer, typical),
      refused: refused !== "" || wrong === undefined ? refused : inSentences(wrong),
      onCommit: (next) => void commit(next),
      onLeave: leave,
      onTry: (next) => editing.preview(editsFollowed(document, pointer, next)),
    };
    return <Editor props={props} choices={choices} stands={waits ?? shown} />;
  }

  const canDrag = isDragged(place.kind) && (value !== undefined || place.standard !== undefined);
  const openEditor = () => {
    touched.set(pointer);
    setOpen(true);
  };
  const drag = (down: PointerEvent & { currentTarget: HTMLElement }) => {
    if (!canDrag || down.button !== 0) return;
    const target = down.currentTarget;
    const begin = textOf(place.kind, value ?? place.standard);
    let now = begin;
    let moves = false;
    target.setPointerCapture(down.pointerId);
    const move = (event: PointerEvent) => {
      const dx = event.clientX - down.clientX;
      if (!moves && Math.abs(dx) < CLICK_PX) return;
      if (!moves) touched.set(pointer);
      moves = true;
      const next = moved(place.kind, begin, Math.round(dx / STEP_PX), event.shiftKey);
      if (next === now) return;
      now = next;
      setDragged(now);
      const read = readTyped(place.kind, now, value, place.standard);
      if (read.ok) editing.preview(editsFollowed(document, pointer, read.value));
    };
    const end = (keep: boolean) => {
      target.removeEventListener("pointermove", move);
      target.removeEventListener("pointerup", up);
      target.removeEventListener("pointercancel", cancel);
      removeEventListener("keydown", escape, true);
      setDragged(null);
      if (!moves) {
        if (keep) openEditor();
        return;
      }
      const read = readTyped(place.kind, now, value, place.standard);
      if (keep && now !== begin && read.ok) void commit(read.value);
      else editing.preview(null);
    };
    const up = () => end(true);
    const cancel = () => end(false);
    const escape = (event: KeyboardEvent) => {
      if (event.key !== "Escape") return;
      event.stopPropagation();
      moves = true;
      end(false);
    };
    target.addEventListener("pointermove", move);
    target.addEventListener("pointerup", up);
    target.addEventListener("pointercancel", cancel);
    addEventListener("keydown", escape, true);
  };

  const classes = ["phrase", hot && "hot", wrong !== undefined && "wrong", canDrag && "draggable", waits !== null && "waits"].filter(Boolean);
  return (
    <span
      ref={ref}
      class={classes.join(" ")}
      role="button"
      tabIndex={0}
      aria-haspopup="dialog"
      aria-label={`${dragged ?? shown} (${name})`}
      data-pointer={pointer}
      title={wrong !== undefined ? inSentences(wrong) : canDrag ? `${name}: click to type, drag to change` : `${name}: click to change`}
      onPointerDown={drag}
      onClick={() => {
        if (!canDrag) openEditor();
      }}
      onKeyDown={(event) => {
        if (event.key !== "Enter" && event.key !== " ") return;
        event.preventDefault();
        openEditor();
      }}
    >
      {dragged ?? waits ?? shown}
    </span>
  );
}

function Editor({
  props,
  choices,
  stands,
}: {
  props: EditorProps;
  choices: ReturnType<typeof choicesAt>;
  stands: string;
}) {
  const { kind } = props.place;
  if (kind.kind === "list") return <ChecksEditor {...props} choices={choices ?? []} stands={stands} />;
  if (choices !== null) return <ChoiceEditor {...props} choices={choices} stands={stands} />;
  if (kind.kind === "choice")
    return (
      <ChoiceEditor {...props} choices={kind.values.map((v) => ({ value: v, name: inWords(v) }))} stands={stands} />
    );
  if (kind.kind === "truth")
    return (
      <ChoiceEditor
        {...props}
        choices={[
          { value: true, name: "yes" },
          { value: false, name: "no" },
        ]}
        stands={stands}
      />
    );
  if (kind.kind === "record") return <RecordEditor {...props} stands={stands} />;
  return <TypedEditor {...props} />;
}

/** What is said beside the editor of a value that other rooms follow. */
function remarkOf(document: Json, pointer: Pointer, typical: string | null): string {
  if (typical === null) return "";
  const reach = reachOf(document, pointer);
  const does = reach === null ? "every room that follows it changes" : reachInWords(reach, pointer);
  return `Stated for the typical “${typical}”: ${does}.`;
}

/** "G.02: vacancy delay 20 min". */
function labelOf(editing: Editing, name: string, place: Place, next: Json | undefined): string {
  const what =
    next === undefined
      ? `leave out ${name}`
      : typeof next === "object"
        ? `change ${name}`
        : `${name} ${place.kind.kind === "choice" ? inWords(String(next)) : textOf(place.kind, next)}`;
  return editing.subject === "" ? what : `${editing.subject}: ${what}`;
}
