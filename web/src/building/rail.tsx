// A figure on a line with its interval, small enough for a row of a table.
interface RailProps {
  mean: number;
  low: number;
  high: number;
  /** Of the line. */
  from: number;
  to: number;
  /** A second mark: what is usually found. */
  found?: number;
  says: string;
}

const WIDTH_PX = 100;

export function Rail({ mean, low, high, from, to, found, says }: RailProps) {
  const x = (v: number) => 4 + (WIDTH_PX - 8) * Math.min(1, Math.max(0, (v - from) / (to - from)));
  return (
    <svg class="rail" viewBox={`0 0 ${WIDTH_PX} 14`} role="img" aria-label={says} preserveAspectRatio="none">
      <path class="track" d={`M4 7H${WIDTH_PX - 4}`} />
      {from < 0 && <path class="zero" d={`M${x(0)} 3v8`} />}
      <path class="interval" d={`M${x(low)} 7H${x(high) + 0.01}`} />
      {found !== undefined && <path class="found" d={`M${x(found)} 1.5V12.5`} />}
      <path class="mean" d={`M${x(mean)} 3.5v7`} />
    </svg>
  );
}
