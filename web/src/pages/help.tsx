// How to read the pages and which keys they know.
import { useCell } from "../app/cell";
import { Dialog } from "./dialog";
import { showsHelp } from "./shell";

export function HelpDialog() {
  if (!useCell(showsHelp)) return null;
  const close = () => showsHelp.set(false);
  return (
    <Dialog heading="How to read and change a room" wide onClose={close}>
      <p>
        The paragraph says what the room does. Each underlined phrase is a value: click it to type or choose, drag a
        number to change it. What you touched last glows, and so does what it governs on the plan.
      </p>
      <p>
        Point at an instant in the year: plan, levels and “why this minute” show that instant. Figures come with the
        interval that nine in ten such buildings fall into; the tick on a rail is the same design as such systems are
        usually found.
      </p>
      <div class="columns">
        <h3>Keys</h3>
        <dl>
          <Key keys="Tab" does="from one thing to the next; with Shift back" />
          <Key keys="Enter" does="change the phrase that has the focus; save what was typed" />
          <Key keys="Escape" does="leave without a change" />
          <Key keys="↑ ↓" does="one step of a number; with Shift a larger one" />
          <Key keys="m" does="sentence, or events by groups" />
          <Key keys="p" does="proposals for the controls of the room, or of the building" />
          <Key keys="Ctrl Z" does="undo" />
          <Key keys="Ctrl Shift Z, Ctrl Y" does="redo" />
          <Key keys="?" does="this page" />
        </dl>
        <h3>Keys on the plan</h3>
        <dl>
          <Key keys="← ↑ → ↓" does="from object to object; what is selected moves by 5 cm, with Shift by 50 cm" />
          <Key keys="Page down, Page up" does="to the next object, or the one before, wherever it stands" />
          <Key keys="Enter" does="select; with Shift also, or no longer" />
          <Key keys="Ctrl A" does="select all luminaires" />
          <Key keys="R, Delete" does="turn what is selected, with Shift the other way; take it out" />
          <Key keys="Ctrl C, Ctrl V, Ctrl D" does="copy, paste, duplicate" />
          <Key keys="+ − 0" does="closer, farther, the whole room" />
        </dl>
        <h3>Keys with a tool in hand, and where a room is drawn</h3>
        <dl>
          <Key keys="← ↑ → ↓" does="move the cross by 5 cm, with Shift by 50 cm" />
          <Key keys="Page down, Page up" does="the cross goes to the next corner or wall, or the one before" />
          <Key keys="Enter" does="press and let go: set a point, begin and end a rectangle, take hold of a wall" />
          <Key keys="Backspace" does="take the last corner back" />
          <Key keys="Escape" does="drop what was begun; lay the tool down" />
        </dl>
      </div>
      <h3>Saving</h3>
      <p>
        Every change is saved at once as a revision and can be undone. No revision is ever taken away: an undo saves the
        older state once more.
      </p>
      <div class="actions">
        <button type="button" class="action" onClick={close}>
          close
        </button>
      </div>
    </Dialog>
  );
}

function Key({ keys, does }: { keys: string; does: string }) {
  return (
    <>
      <dt>
        <kbd>{keys}</kbd>
      </dt>
      <dd>{does}</dd>
    </>
  );
}
