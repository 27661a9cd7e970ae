// What is missing before the building can be issued: what the document lacks or says wrongly, and what its study
// found, worst first.
import type { Building, Pointer, RoomRow } from "../api/contract";
import type { Study } from "../app/study";

/** From what forbids issue to what a person may leave. */
export const SEVERITIES = ["error", "blocks issue", "missing", "fails a rule", "needs evidence", "warning"] as const;
export type Severity = (typeof SEVERITIES)[number];

export interface OpenIssue {
  severity: Severity;
  room: RoomRow | null;
  /** Id of the typical that it stands in, or null. */
  typical: string | null;
  text: string;
  remedy: string;
  /** In the document, where one place is to blame. */
  where: Pointer | null;
}

const isWithin = (where: Pointer, pointer: Pointer): boolean => where === pointer || where.startsWith(`${pointer}/`);

export function openIssues(building: Building, study: Study | null, roomOfPlace: (where: Pointer) => string | null): OpenIssue[] {
  const found: OpenIssue[] = building.diagnostics.map((diagnostic) => {
    const id = roomOfPlace(diagnostic.where);
    return {
      severity: diagnostic.severity,
      room: building.rooms.find((row) => row.id === id || isWithin(diagnostic.where, row.pointer)) ?? null,
      typical: building.typicals.find((typical) => isWithin(diagnostic.where, typical.pointer))?.id ?? null,
      text: diagnostic.problem,
      remedy: diagnostic.remedy,
      where: diagnostic.where,
    };
  });
  for (const space of study?.spaces ?? []) {
    const room = building.rooms.find((row) => row.id === space.id) ?? null;
    const of = (severity: Severity, text: string, remedy: string) =>
      found.push({ severity, room, typical: null, text, remedy, where: null });
    if (!space.studied) of("missing", `Not studied: ${space.not_studied_because}`, "");
    for (const finding of space.findings) {
      if (finding.verdict !== "fail" && finding.verdict !== "needs_evidence") continue;
      const rule = [finding.code, finding.edition, finding.section].filter((part) => part !== "").join(" ");
      const severity =
        finding.verdict === "needs_evidence" ? "needs evidence" : finding.blocks_issue ? "blocks issue" : "fails a rule";
      of(severity, `${finding.title} (${rule}): ${finding.evidence}`, finding.fix);
    }
  }
  return found.sort((a, b) => SEVERITIES.indexOf(a.severity) - SEVERITIES.indexOf(b.severity));
}

/** Why a study may not be issued, beside what the study says itself; empty when it may. */
export function obstacles(building: Building, study: Study | null): string[] {
  const errors = building.diagnostics.filter((d) => d.severity === "error").map((d) => d.problem);
  return [...errors, ...(study?.not_to_be_issued_because ?? ["The building is not studied yet."])];
}
