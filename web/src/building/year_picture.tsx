// The year of a room as a small picture: days across, hours up, as bright as the light of the room.
import { useLayoutEffect, useMemo, useRef } from "preact/hooks";
import type { Drawings } from "../api/contract";
import { LIGHT_PALETTE_RGBA } from "../look/scale";
import { bytesOf } from "../plan/field";
import { DAYS } from "../year/civil";
import { coloured, rowsFromDays } from "../year/picture";

type Year = NonNullable<Drawings["rooms"][number]["year"]>;

/** Share of the year at more than a hundredth of the connected power, and where in the day most of it lies. */
export function yearInWords(bytes: Uint8Array, per_day: number): string {
  let lit = 0;
  const byCell = new Array<number>(per_day).fill(0);
  bytes.forEach((byte, i) => {
    if (byte > 2) lit += 1;
    byCell[i % per_day]! += byte;
  });
  if (lit === 0) return "dark all year";
  const most = byCell.indexOf(Math.max(...byCell));
  const hour = Math.floor((24 * most) / per_day);
  return `lit in ${Math.round((100 * lit) / bytes.length)} % of the year, most at ${String(hour).padStart(2, "0")}:00`;
}

export function YearPicture({ year, of }: { year: Year | undefined; of: string }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const bytes = useMemo(() => (year === undefined ? null : bytesOf(year.bytes)), [year]);
  const fits = year !== undefined && bytes !== null && bytes.length === DAYS * year.per_day;
  useLayoutEffect(() => {
    const context = canvas.current?.getContext("2d");
    if (!context || !fits) return;
    const pixels = coloured(rowsFromDays(bytes, year.per_day), LIGHT_PALETTE_RGBA);
    context.putImageData(new ImageData(pixels, DAYS, year.per_day), 0, 0);
  }, [bytes, fits]);
  if (!fits) return <span class="year-picture" />;
  return (
    <canvas
      ref={canvas}
      class="year-picture"
      width={DAYS}
      height={year.per_day}
      role="img"
      aria-label={`year of ${of}: ${yearInWords(bytes, year.per_day)}`}
    />
  );
}
