/** A document of `count` rooms of one typical; 104 waits `own` instead of `delay`. */
export function cells(count: number, options?: { delay?: string; own?: string }): Record<string, unknown>;
/** Two cells of one typical (101, 102), a wider one of another (103), and a store without luminaires (104). */
export function kindsOfCells(): Record<string, unknown>;
