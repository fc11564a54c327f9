// The order in which checks are read: what failed first, then what is open, then what holds.
import type { CheckTold } from "../wire";

const ORDER: CheckTold["verdict"][] = ["fail", "unsure", "pass"];

/** The checks in that order, each group as the program sent it. */
export function inOrder(checks: CheckTold[]): CheckTold[] {
  return ORDER.flatMap((verdict) => checks.filter((check) => check.verdict === verdict));
}

export function count(checks: CheckTold[], verdict: CheckTold["verdict"]): number {
  return checks.filter((check) => check.verdict === verdict).length;
}
