// A question that stands before everything else until it is answered.
import type { ComponentChildren } from "preact";
import { useEffect, useId, useRef } from "preact/hooks";

export function Dialog({
  heading,
  onClose,
  children,
}: {
  heading: string;
  /** Escape; null where the question has to be answered. */
  onClose: (() => void) | null;
  children: ComponentChildren;
}) {
  const ref = useRef<HTMLDialogElement>(null);
  const id = useId();
  useEffect(() => {
    const dialog = ref.current;
    dialog?.showModal();
    return () => dialog?.close();
  }, []);
  return (
    <dialog
      class="dialog"
      ref={ref}
      aria-labelledby={id}
      onCancel={(event) => {
        event.preventDefault();
        onClose?.();
      }}
    >
      <h2 id={id}>{heading}</h2>
      {children}
    </dialog>
  );
}
