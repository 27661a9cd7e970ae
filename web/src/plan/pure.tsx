// A component that is drawn again only when one of its properties is another object than before.
import { Component, type ComponentChild, type FunctionComponent } from "preact";

export function pure<P extends object>(draw: (props: P) => ComponentChild): FunctionComponent<P> {
  class Pure extends Component<P> {
    override shouldComponentUpdate(next: Readonly<P>): boolean {
      const now = this.props as Record<string, unknown>;
      const then = next as Record<string, unknown>;
      for (const key in then) if (then[key] !== now[key]) return true;
      for (const key in now) if (!(key in then)) return true;
      return false;
    }
    override render() {
      return draw(this.props as P);
    }
  }
  return Pure as unknown as FunctionComponent<P>;
}
