/** The draft outlives a look at another page: whoever leaves to answer an alarm finds it again. A reload ends it. */
import { type ReadonlySignal, signal } from '@preact/signals';
import type { TableCheck } from '../../shared/protocol/set-points.ts';
import { session } from '../access/session.ts';
import type { Draft } from './draft.ts';

/** What the post said of a draft, and of which one. */
export type Seen = { readonly mark: string; readonly base: string; readonly check: TableCheck };
type Kept = { readonly by: string; readonly draft: Draft; readonly seen: Seen | null };

const kept = signal<Kept | null>(null);
/** Whoever else logs in here must not adopt it as their own: it is then not there. */
export const draftKept: ReadonlySignal<Kept | null> = kept;

export function keepDraft(draft: Draft | null): void {
  const by = session.value?.name;
  const seen = kept.peek()?.seen ?? null;
  kept.value = draft === null || by === undefined ? null : { by, draft, seen };
}

export function keepSeen(seen: Seen): void {
  if (kept.value !== null) kept.value = { ...kept.value, seen };
}

/** The draft of whoever is logged in. */
export function ownDraft(): Kept | null {
  const found = kept.value;
  return found !== null && found.by === session.value?.name ? found : null;
}
