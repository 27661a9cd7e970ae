// One value that changes, and who wants to know.
import { useLayoutEffect, useState } from "preact/hooks";

export class Cell<T> {
  private readonly listeners = new Set<() => void>();

  constructor(private current: T) {}

  get value(): T {
    return this.current;
  }

  set(next: T): void {
    if (Object.is(next, this.current)) return;
    this.current = next;
    for (const listener of [...this.listeners]) listener();
  }

  /** Changes some keys of a record and keeps the others. */
  patch(change: Partial<T>): void {
    this.set({ ...this.current, ...change });
  }

  /** Calls `listener` after each change; gives back what ends that. */
  subscribe(listener: () => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }
}

/** The value of a cell; the component is drawn again when it changes. */
export function useCell<T>(cell: Cell<T>): T {
  const [, draw] = useState({});
  useLayoutEffect(() => {
    let drawn = cell.value;
    const changed = () => {
      if (Object.is(drawn, cell.value)) return;
      drawn = cell.value;
      draw({});
    };
    const stop = cell.subscribe(changed);
    draw({}); // it may have changed between drawing and subscribing
    return stop;
  }, [cell]);
  return cell.value;
}
