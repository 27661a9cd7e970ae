// How to read the pages and which keys they know.
import { useCell } from "../app/cell";
import { Dialog } from "./dialog";
import { showsHelp } from "./shell";

export function HelpDialog() {
  if (!useCell(showsHelp)) return null;
  const close = () => showsHelp.set(false);
  return (
    <Dialog heading="How to read and change a room" onClose={close}>
      <p>
        The paragraph says what the room does. Each underlined phrase is a value: click it to type or choose, drag a
        number to change it. What you touched last glows, and so does what it governs on the plan.
      </p>
      <p>
        Point at an instant in the year: plan, levels and “why this minute” show that instant. Figures come with the
        interval that nine in ten such buildings fall into; the tick on a rail is the same design as such systems are
        usually found.
      </p>
      <h3>Keys</h3>
      <dl>
        <Key keys="Enter" does="change the phrase that has the focus; save what was typed" />
        <Key keys="Escape" does="leave without a change" />
        <Key keys="↑ ↓" does="one step of a number; with Shift a larger one" />
        <Key keys="m" does="sentence, or events by groups" />
        <Key keys="Ctrl Z" does="undo" />
        <Key keys="Ctrl Shift Z, Ctrl Y" does="redo" />
        <Key keys="?" does="this page" />
      </dl>
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
