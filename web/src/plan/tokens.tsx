// Devices as small white tokens, drawn as what they do. core/report/device_tokens.cpp draws the same on paper.
import type { ComponentChildren } from "preact";
import type { DeviceKind } from "../api/contract";

const DRAWN: Readonly<Record<DeviceKind, ComponentChildren>> = {
  occupancy_sensor: (
    <>
      <circle class="card" r="9" />
      <path class="pen" d="M-5.6 0Q0 -5.6 5.6 0Q0 5.6 -5.6 0Z" />
      <circle class="dot" r="1.9" />
    </>
  ),
  photosensor: (
    <>
      <path class="card" d="M0 -10.5L10.5 0L0 10.5L-10.5 0Z" />
      <circle class="sun" r="2.6" />
      <path
        class="ray"
        d="M0 -5.4V-4M0 5.4V4M-5.4 0H-4M5.4 0H4M-3.6 -3.6L-2.8 -2.8M3.6 3.6L2.8 2.8M-3.6 3.6L-2.8 2.8M3.6 -3.6L2.8 -2.8"
      />
    </>
  ),
  station: (
    <>
      <rect class="card" x="-6" y="-9" width="12" height="18" rx="2" />
      <path class="pen" d="M-3.2 -4.5H3.2M-3.2 0H3.2M-3.2 4.5H3.2" />
    </>
  ),
  load_controller: (
    <>
      <rect class="card" x="-9" y="-7" width="18" height="14" />
      <path class="pen" d="M-6 2.5H-3L2.6 -2.6M3 2.5H6" />
    </>
  ),
  time_clock: (
    <>
      <circle class="card" r="9" />
      <path class="pen" d="M0 -5V0L3.4 2.2" />
    </>
  ),
  interface: (
    <>
      <rect class="card" x="-9" y="-7" width="18" height="14" rx="7" />
      <path class="pen" d="M-5.5 0H4.5M1.8 -2.7L4.8 0L1.8 2.7" />
    </>
  ),
  infrastructure: (
    <>
      <rect class="card" x="-7.5" y="-7.5" width="15" height="15" rx="2" />
      <path class="pen" d="M-4 3.5V-1H4V3.5M0 -1V-4.5" />
    </>
  ),
};

/** A token about [0, 0], 18 px across. */
export const Token = ({ kind }: { kind: DeviceKind }) => <g class="token">{DRAWN[kind]}</g>;

/** The green tab of a luminaire that lights a way out. */
export const EgressTab = ({ x, y }: { x: number; y: number }) => (
  <g class="way" transform={`translate(${x} ${y})`}>
    <rect class="tab" x="-7" y="-4.5" width="14" height="9" rx="1" />
    <path class="tabpen" d="M-4 0H3.4M1 -2.4L3.6 0L1 2.4" />
  </g>
);
