// What a page offers to a hand, and what keys reach of it.

/** Installs window.walk in the page: marks what can be operated, and tells of the element in focus. Runs in the browser. */
export function installWalk() {
  const ROLES = ["button", "link", "slider", "tab", "option", "checkbox", "radio", "switch", "combobox", "listbox", "menuitem", "spinbutton", "textbox"];
  const SELECTOR = ["button", "a[href]", "input", "select", "textarea", "summary", "[tabindex]", ...ROLES.map((role) => `[role=${role}]`)].join(",");
  const HANDLERS = ["onClick", "onPointerDown", "onMouseDown", "onDblClick"];
  const HANDS = ["pointer", "grab", "ew-resize", "crosshair"];
  // Handlers as Preact keeps them: an object of the element, by the name of the property.
  const listens = (e) => Object.values(e).some((v) => typeof v === "object" && v !== null && HANDLERS.some((h) => typeof v[h] === "function"));
  const hand = (e) => e !== null && HANDS.includes(getComputedStyle(e).cursor);
  const isShown = (e) => e.checkVisibility({ visibilityProperty: true }) && e.getBoundingClientRect().width > 0;
  const words = (e) => `${e.tagName.toLowerCase()}.${(e.getAttribute("class") ?? "").trim().split(/\s+/).join(".")} “${(e.getAttribute("aria-label") ?? e.textContent ?? "").slice(0, 40)}”`;

  const rgba = (colour) => {
    const context = document.createElement("canvas").getContext("2d");
    context.fillStyle = colour;
    context.fillRect(0, 0, 1, 1);
    return [...context.getImageData(0, 0, 1, 1).data];
  };
  const luminance = (colour) =>
    colour
      .slice(0, 3)
      .map((v) => v / 255)
      .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
      .reduce((sum, v, i) => sum + [0.2126, 0.7152, 0.0722][i] * v, 0);
  const contrast = (a, b) => {
    const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
    return (high + 0.05) / (low + 0.05);
  };
  /** How an element looks, as far as that may show the focus. */
  const look = (e) => {
    // SVG draws the focus on a part of a thing; over a plan it draws a cross.
    const parts = e instanceof SVGElement ? [e, ...e.querySelectorAll(":scope > rect, :scope > .crosshair")] : [e];
    return parts
      .map((part) => {
        const s = getComputedStyle(part);
        const outline = s.outlineStyle === "none" ? "" : `${s.outlineStyle} ${s.outlineWidth} ${s.outlineColor}`;
        return [outline, s.boxShadow, s.borderColor, s.borderWidth, s.backgroundColor, s.stroke, s.strokeWidth].join("|");
      })
      .join("; ");
  };
  const outlineContrast = (e) => {
    const s = getComputedStyle(e);
    if (s.outlineStyle === "none" || parseFloat(s.outlineWidth) < 1) return null;
    // An outline stands around its element, on the ground of what holds it.
    let ground = e.parentElement;
    while (ground !== null && rgba(getComputedStyle(ground).backgroundColor)[3] < 255) ground = ground.parentElement;
    return contrast(rgba(s.outlineColor), rgba(getComputedStyle(ground ?? document.body).backgroundColor));
  };

  const marked = new Map();
  window.walk = {
    mark() {
      const dialog = document.querySelector("dialog[open]");
      for (const e of (dialog ?? document.body).querySelectorAll("*")) {
        if (e.closest("[inert], :disabled") !== null || !isShown(e)) continue;
        if (e.matches(SELECTOR) || listens(e) || (hand(e) && !hand(e.parentElement))) marked.set(e, null);
      }
      return marked.size;
    },
    /** The element in focus, or null; "again" once it was there before. */
    stop() {
      const e = document.activeElement;
      if (e === null || e === document.body || e.matches("html, dialog")) {
        // Past the end; Tab begins again at the top.
        this.last = undefined;
        return null;
      }
      // Hours and minutes of a field of time are stops of their own.
      if (e === this.last) return null;
      if (marked.get(e)) return "again";
      marked.set(e, { look: look(e), contrast: outlineContrast(e) });
      const follows = this.last === undefined || (this.last.compareDocumentPosition(e) & Node.DOCUMENT_POSITION_FOLLOWING) !== 0;
      const came = this.last;
      this.last = e;
      return { words: words(e), follows, came: came === undefined ? "" : words(came), tabIndex: e.tabIndex, isSvg: e instanceof SVGElement, contrast: marked.get(e).contrast };
    },
    /** Reached by Tab and looking no different with the focus. */
    unseen: () => [...marked].filter(([e, stop]) => stop !== null && e.isConnected && e !== document.activeElement && stop.look === look(e)).map(([e]) => words(e)),
    /** What a hand can operate and keys cannot. */
    missed() {
      const stops = [...marked].filter(([, stop]) => stop !== null).map(([e]) => e);
      const among = (e, group) => group !== null && stops.some((stop) => group === stop || group.contains(stop));
      return [...marked.keys()]
        .filter((e) => {
          if (stops.includes(e) || !e.isConnected) return false;
          // Arrow keys go through the options of a list and the radios of a name.
          if (e.matches("[role=option]") && among(e, e.closest("[role=listbox]"))) return false;
          if (e.matches("input[type=radio]") && stops.some((stop) => stop.type === "radio" && stop.name === e.name)) return false;
          // What is clicked on behalf of a control that is reached, or is a part of one.
          if (stops.includes((e.closest("label") ?? {}).control) || stops.some((stop) => stop.contains(e))) return false;
          // What holds the objects of a plan; the small plan beside the slider that does the same.
          if (e.matches("[role=application], [role=listbox]") && among(e, e)) return false;
          return !(e.matches(".key-plan") && among(e, e.closest(".section-foot")));
        })
        .map(words);
    },
  };
}
