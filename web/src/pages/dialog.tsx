// A question that stands before everything else until it is answered.
import type { ComponentChildren } from "preact";
import { useId, useLayoutEffect, useRef } from "preact/hooks";

export function Dialog({
  heading,
  wide = false,
  onClose,
  children,
}: {
  heading: string;
  wide?: boolean;
  /** Escape; null where the question has to be answered. */
  onClose: (() => void) | null;
  children: ComponentChildren;
}) {
  const ref = useRef<HTMLDialogElement>(null);
  const id = useId();
  // Closed while it still stands in the page: then the browser gives the focus back to what had it.
  useLayoutEffect(() => {
    const dialog = ref.current;
    dialog?.showModal();
    return () => dialog?.close();
  }, []);
  return (
    <dialog
      class={wide ? "dialog wide" : "dialog"}
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
