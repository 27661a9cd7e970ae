// The editors that take the place of a phrase. Each begins with what stands, commits by Enter, and leaves by
// Escape without a change; the help beside it comes from the published schema.
import type { ComponentChildren } from "preact";
import { useId, useLayoutEffect, useRef, useState } from "preact/hooks";
import type { Json } from "../app/pointer";
import { stepped } from "../units/entered";
import type { UnitSystem } from "../units/system";
import type { Choice } from "./choices";
import { type Kind, type Place, inWords } from "./schema";
import { isTyped, readTyped, standardInWords, textOf } from "./values";

export interface EditorProps {
  name: string;
  place: Place;
  value: Json | undefined;
  system: UnitSystem;
  /** Said of values that other rooms follow. */
  remark: string;
  /** What went wrong when it was saved, or "". */
  refused: string;
  /** undefined takes the value out of the document. */
  onCommit: (value: Json | undefined) => void;
  onLeave: () => void;
  /** What stands if the hand let go now. */
  onTry: (value: Json) => void;
}

/** Room between the help and the edge of the window. */
const EDGE_PX = 8;

/** Shows what stands beside a phrase above everything else, under the phrase or over it, within the window. */
function useBeside() {
  const ref = useRef<HTMLSpanElement>(null);
  useLayoutEffect(() => {
    const beside = ref.current;
    const phrase = beside?.parentElement;
    if (!beside || !phrase) return;
    beside.showPopover();
    const put = () => {
      const at = phrase.getBoundingClientRect();
      const { width, height } = beside.getBoundingClientRect();
      const below = at.bottom + 5;
      const top = below + height > innerHeight - EDGE_PX && at.top > height + EDGE_PX ? at.top - 5 - height : below;
      beside.style.left = `${Math.max(EDGE_PX, Math.min(at.left, innerWidth - width - EDGE_PX))}px`;
      beside.style.top = `${top}px`;
    };
    put();
    const watch = new ResizeObserver(put);
    watch.observe(beside);
    addEventListener("scroll", put, true);
    addEventListener("resize", put);
    return () => {
      watch.disconnect();
      removeEventListener("scroll", put, true);
      removeEventListener("resize", put);
    };
  }, []);
  return ref;
}

function Beside({
  id,
  editor,
  hint,
  wrong,
  children,
}: {
  id: string;
  editor: EditorProps;
  hint: string;
  wrong: string;
  children?: ComponentChildren;
}) {
  const ref = useBeside();
  return (
    <span class="beside" popover="manual" ref={ref}>
      {children}
      <span id={id}>
        <span class="help">
          {editor.place.help} {standardInWords(editor.place, editor.system)}
        </span>
        {editor.remark !== "" && <span class="typical">{editor.remark}</span>}
      </span>
      <span class="hint">{hint}</span>
      <span class="wrong" role="alert">
        {wrong}
      </span>
    </span>
  );
}

/** A number with its unit, a share, an hour or a text. */
export function TypedEditor(props: EditorProps) {
  const { place, value, onCommit, onLeave } = props;
  const { kind } = place;
  const [begin] = useState(() => textOf(kind, value ?? place.standard));
  const [text, setText] = useState(begin);
  const [wrong, setWrong] = useState("");
  // What goes out of the page loses the focus on its way.
  const hasLeft = useRef(false);
  const input = useRef<HTMLInputElement>(null);
  const help = useId();
  useLayoutEffect(() => {
    input.current?.focus();
    input.current?.select();
  }, []);

  const finish = () => {
    if (text.trim() === "" && place.optional) {
      onCommit(undefined);
      return;
    }
    if (text.trim() === begin) {
      onLeave();
      return;
    }
    const read = readTyped(kind, text, value, place.standard);
    if (read.ok) onCommit(read.value);
    else setWrong(read.problem);
  };
  const onKeyDown = (event: KeyboardEvent) => {
    if (event.key === "Enter") {
      event.preventDefault();
      finish();
    } else if (event.key === "Escape") {
      event.preventDefault();
      event.stopPropagation();
      hasLeft.current = true;
      onLeave();
    } else if (event.key === "ArrowUp" || event.key === "ArrowDown") {
      const next = moved(kind, text, event.key === "ArrowUp" ? 1 : -1, event.shiftKey);
      if (next === text) return;
      event.preventDefault();
      setText(next);
      const read = readTyped(kind, next, value, place.standard);
      if (read.ok) props.onTry(read.value);
    }
  };
  return (
    <span class="editing">
      <input
        ref={input}
        value={text}
        size={Math.max(4, text.length + 1)}
        aria-label={props.name}
        aria-describedby={help}
        aria-invalid={wrong !== ""}
        autocomplete="off"
        spellcheck={false}
        onInput={(event) => {
          setText(event.currentTarget.value);
          setWrong("");
        }}
        onKeyDown={onKeyDown}
        onBlur={() => {
          if (hasLeft.current) return;
          // What was typed and can be read is kept; what cannot be read waits for its writer.
          const read = readTyped(kind, text, value, place.standard);
          if (read.ok || (text.trim() === "" && place.optional) || text.trim() === begin) finish();
        }}
      />
      <Beside
        id={help}
        editor={props}
        wrong={wrong || props.refused}
        hint={place.optional && value !== undefined ? "Enter saves; empty leaves it out; Escape leaves." : "Enter saves; Escape leaves."}
      />
    </span>
  );
}

/** The text of a typed value moved by steps. */
export function moved(kind: Kind, text: string, steps: number, large: boolean): string {
  if (kind.kind === "quantity") {
    const signed = kind.units.includes("deg");
    return stepped(text, steps, large, signed ? -Infinity : 0, Infinity);
  }
  if (kind.kind === "share") return stepped(text, steps, large, kind.low, kind.high);
  if (kind.kind === "number" && kind.whole && /^-?[0-9]+$/.test(text))
    return String(Math.min(kind.high, Math.max(kind.low, Number(text) + steps * (large ? 10 : 1))));
  return text;
}

/** One of several: words of the schema, yes or no, or other things of the project by name. */
export function ChoiceEditor(props: EditorProps & { choices: readonly { value: Json; name: string }[]; stands: string }) {
  const { choices, place, value } = props;
  const options: { value: Json | undefined; name: string }[] = [...choices];
  if (place.optional && place.standard === undefined && place.kind.kind !== "truth")
    options.push({ value: undefined, name: "left out" });
  const [at, setAt] = useState(() =>
    Math.max(0, options.findIndex((option) => option.value === (value ?? place.standard))),
  );
  const list = useRef<HTMLSpanElement>(null);
  const help = useId();
  useLayoutEffect(() => list.current?.focus(), []);
  useLayoutEffect(() => {
    list.current?.querySelector(".current")?.scrollIntoView({ block: "nearest" });
  }, [at]);

  const take = (index: number) => {
    const option = options[index];
    if (option === undefined) return;
    if (option.value === value) props.onLeave();
    else props.onCommit(option.value);
  };
  const onKeyDown = (event: KeyboardEvent) => {
    const last = options.length - 1;
    const to: Record<string, number> = {
      ArrowDown: Math.min(last, at + 1),
      ArrowUp: Math.max(0, at - 1),
      Home: 0,
      End: last,
    };
    const next = to[event.key];
    if (next !== undefined) setAt(next);
    else if (event.key === "Enter" || event.key === " ") take(at);
    else if (event.key === "Escape") props.onLeave();
    else if (event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey) {
      const letter = event.key.toLowerCase();
      const order = options.map((_, i) => (at + 1 + i) % options.length);
      const found = order.find((i) => options[i]!.name.toLowerCase().startsWith(letter));
      if (found !== undefined) setAt(found);
    } else return;
    event.preventDefault();
    event.stopPropagation();
  };
  return (
    <span class="editing">
      <span class="stands">{props.stands}</span>
      <Beside id={help} editor={props} wrong={props.refused} hint="Enter takes it; Escape leaves.">
        <span
          class="options"
          role="listbox"
          tabIndex={0}
          ref={list}
          aria-label={props.name}
          aria-describedby={help}
          aria-activedescendant={`${help}-${at}`}
          onKeyDown={onKeyDown}
          onBlur={props.onLeave}
        >
          {options.map((option, i) => (
            <span
              key={i}
              id={`${help}-${i}`}
              role="option"
              aria-selected={option.value === value}
              class={i === at ? "current" : ""}
              onPointerMove={() => setAt(i)}
              onPointerDown={(event) => {
                event.preventDefault();
                take(i);
              }}
            >
              {option.name}
            </span>
          ))}
        </span>
      </Beside>
    </span>
  );
}

/** Some of several, by name. */
export function ChecksEditor(props: EditorProps & { choices: readonly Choice[]; stands: string }) {
  const before = Array.isArray(props.value) ? props.value.filter((v): v is string => typeof v === "string") : [];
  const [taken, setTaken] = useState<readonly string[]>(before);
  const help = useId();
  const form = useRef<HTMLSpanElement>(null);
  useLayoutEffect(() => form.current?.querySelector("input")?.focus(), []);
  // In the order that stood before; what is new follows in the order of the choices.
  const toggle = (id: string) =>
    setTaken((now) => (now.includes(id) ? now.filter((other) => other !== id) : [...now, id]));
  const finish = () => {
    if (taken.length === 0 && props.place.optional) props.onCommit(undefined);
    else props.onCommit([...taken]);
  };
  return (
    <span class="editing" ref={form} {...leaving(props.onLeave, finish)}>
      <span class="stands">{props.stands}</span>
      <Beside id={help} editor={props} wrong={props.refused} hint="Space turns one on or off.">
        <span class="checks" role="group" aria-label={props.name} aria-describedby={help}>
          {props.choices.map((choice) => (
            <label key={choice.value}>
              <input type="checkbox" checked={taken.includes(choice.value)} onChange={() => toggle(choice.value)} />
              {choice.name}
            </label>
          ))}
        </span>
        <SaveOrLeave onSave={finish} onLeave={props.onLeave} />
      </Beside>
    </span>
  );
}

/** Several values that the sentence says together. */
export function RecordEditor(props: EditorProps & { stands: string }) {
  const { kind } = props.place;
  const fields = kind.kind === "record" ? kind.fields.filter(({ place }) => isEditable(place.kind)) : [];
  const stood = (name: string): Json | undefined => {
    const { value } = props;
    return typeof value === "object" && value !== null && !Array.isArray(value) ? value[name] : undefined;
  };
  const [texts, setTexts] = useState<Record<string, string>>(() =>
    Object.fromEntries(fields.map(({ name, place }) => [name, textOf(place.kind, stood(name))])),
  );
  const [wrong, setWrong] = useState<Record<string, string>>({});
  const help = useId();
  const form = useRef<HTMLSpanElement>(null);
  useLayoutEffect(() => form.current?.querySelector<HTMLElement>("input, select")?.focus(), []);

  const finish = () => {
    const problems: Record<string, string> = {};
    const record: { [key: string]: Json } =
      typeof props.value === "object" && props.value !== null && !Array.isArray(props.value) ? { ...props.value } : {};
    for (const { name, place } of fields) {
      const text = texts[name] ?? "";
      if (text === textOf(place.kind, stood(name))) continue;
      if (text.trim() === "") {
        if (place.optional) delete record[name];
        else problems[name] = "This cannot be left out.";
      } else if (place.kind.kind === "truth") record[name] = text === "yes";
      else if (place.kind.kind === "choice") record[name] = text;
      else {
        const read = readTyped(place.kind, text, stood(name), place.standard);
        if (read.ok) record[name] = read.value;
        else problems[name] = read.problem;
      }
    }
    setWrong(problems);
    if (Object.keys(problems).length === 0) props.onCommit(record);
  };
  const set = (name: string, text: string) => setTexts((now) => ({ ...now, [name]: text }));
  return (
    <span class="editing" ref={form} {...leaving(props.onLeave, finish)}>
      <span class="stands">{props.stands}</span>
      <Beside id={help} editor={props} wrong={props.refused} hint="">
        <span class="record" role="group" aria-label={props.name} aria-describedby={help}>
          {fields.map(({ name, place }) => (
            <RecordField
              key={name}
              name={name}
              place={place}
              text={texts[name] ?? ""}
              wrong={wrong[name] ?? ""}
              onText={(text) => set(name, text)}
            />
          ))}
        </span>
        <SaveOrLeave onSave={finish} onLeave={props.onLeave} />
      </Beside>
    </span>
  );
}

function RecordField({
  name,
  place,
  text,
  wrong,
  onText,
}: {
  name: string;
  place: Place;
  text: string;
  wrong: string;
  onText: (text: string) => void;
}) {
  const id = useId();
  const words =
    place.kind.kind === "choice" ? place.kind.values : place.kind.kind === "truth" ? ["yes", "no"] : null;
  const standard = textOf(place.kind, place.standard);
  return (
    <>
      <label for={id} title={place.help}>
        {inWords(name)}
      </label>
      {words === null ? (
        <input
          id={id}
          class="field"
          value={text}
          placeholder={standard}
          aria-invalid={wrong !== ""}
          autocomplete="off"
          onInput={(event) => onText(event.currentTarget.value)}
        />
      ) : (
        <select id={id} class="field" value={text} onChange={(event) => onText(event.currentTarget.value)}>
          {place.optional && <option value="">{standard === "" ? "left out" : `${inWords(standard)} (left out)`}</option>}
          {words.map((word) => (
            <option key={word} value={word}>
              {inWords(word)}
            </option>
          ))}
        </select>
      )}
      {wrong !== "" && (
        <span class="wrong" role="alert">
          {wrong}
        </span>
      )}
    </>
  );
}

function SaveOrLeave({ onSave, onLeave }: { onSave: () => void; onLeave: () => void }) {
  return (
    <span class="actions">
      <button type="button" class="action" onClick={onSave}>
        save
      </button>
      <button type="button" class="word" onClick={onLeave}>
        leave
      </button>
    </span>
  );
}

/** Escape leaves, Enter saves; going on to something else leaves too. */
function leaving(onLeave: () => void, onSave: () => void) {
  return {
    onKeyDown: (event: KeyboardEvent) => {
      const isButton = event.target instanceof HTMLButtonElement;
      if (event.key === "Escape") onLeave();
      else if (event.key === "Enter" && !isButton) onSave();
      else return;
      event.preventDefault();
      event.stopPropagation();
    },
    onFocusOut: (event: FocusEvent & { currentTarget: HTMLElement }) => {
      const to = event.relatedTarget;
      if (to instanceof Node && !event.currentTarget.contains(to)) onLeave();
    },
  };
}

export function isEditable(kind: Kind): boolean {
  return isTyped(kind) || kind.kind === "choice" || kind.kind === "truth";
}
