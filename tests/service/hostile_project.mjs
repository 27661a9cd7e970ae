// The demo with markup in every text that a person may write.

export const TEXTS = ["<img src=x onerror=alert(1)>", '"><script>alert(2)</script>', "'><svg/onload=alert(3)>", "</title></style></textarea><script>alert(4)</script>", "{{alert(5)}} ${alert(6)} javascript:alert(7)"];

/** Keys of texts that mean nothing to the program. */
const FREE = new Set(["name", "number", "tag", "notes", "client", "author", "remark", "panel", "breaker", "switch_leg", "make", "catalogue_number", "who", "place"]);

/** The document `text` with hostile texts wherever a free text stands. */
export function hostileProject(text) {
  let count = 0;
  const mark = (value) => {
    if (Array.isArray(value)) return value.map(mark);
    if (value === null || typeof value !== "object") return value;
    return Object.fromEntries(
      Object.entries(value).map(([key, one]) => [key, FREE.has(key) && typeof one === "string" ? TEXTS[count++ % TEXTS.length] : mark(one)]),
    );
  };
  const document = mark(JSON.parse(text));
  document.spaces.forEach((space, i) => (space.name = TEXTS[i % TEXTS.length]));
  for (const design of document.designs)
    for (const key of ["luminaires", "groups", "scenes", "occupancy_sensors", "photosensors", "stations"])
      for (const one of design[key] ?? []) {
        if (key === "groups" || key === "scenes") one.name = TEXTS[count++ % TEXTS.length];
        else one.tag = TEXTS[count++ % TEXTS.length];
      }
  for (const design of document.designs)
    for (const typical of design.typicals ?? [])
      for (const key of ["luminaires", "groups", "scenes", "stations", "occupancy_sensors", "photosensors"])
        for (const one of typical[key] ?? []) {
          if (key === "groups" || key === "scenes") one.name = TEXTS[0];
          else one.tag = TEXTS[1];
        }
  return document;
}
