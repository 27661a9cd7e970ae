/** A document of `count` rooms of one typical; 104 waits `own` instead of `delay`. */
export function cells(count: number, options?: { delay?: string; own?: string }): Record<string, unknown>;
