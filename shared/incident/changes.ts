/** What one step of the fold touched: the events it derived, and which views a screen has to get anew. */
import type { FoldEvent } from './events.ts';

export type Changes = {
  readonly events: FoldEvent[];
  readonly monitors: Set<string>;
  readonly alarms: Set<string>;
  head: boolean;
};

export function createChanges(): Changes {
  return { events: [], monitors: new Set(), alarms: new Set(), head: false };
}
