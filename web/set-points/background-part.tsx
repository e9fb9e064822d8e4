/** What counts as nothing, for the site and for each monitor: in force, assumed or taken, and how to take it. */
import { useComputed, useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { BoardHead } from '../../shared/protocol/board.ts';
import { mayNow } from '../access/session.ts';
import type { Store } from '../feed/store.ts';
import { Shape } from '../words/shapes.tsx';
import { columnFacts } from '../words/values.ts';
import { BackgroundLine } from './background-line.tsx';
import { backgroundInForce } from './background-words.ts';

/** M-9 before M-10. */
const inOrder = new Intl.Collator('en', { numeric: true });

type Props = { store: Store; channels: readonly string[]; zone: string; covered: boolean };

export function BackgroundPart({ store, channels, zone, covered }: Props) {
  const ids = [...store.ids.value].sort(inOrder.compare);
  const kept = useRef<NonNullable<BoardHead['backgrounds']>>([]);
  // The head comes anew for many reasons; every line is drawn again only where one of these is another.
  const taken = useComputed(() => {
    const next = store.head.value?.backgrounds ?? [];
    if (JSON.stringify(next) !== JSON.stringify(kept.current)) kept.current = next;
    return kept.current;
  }).value;
  const open = useSignal<string | null>(null);
  const missing = channels.filter((channel) => {
    const scopes = ids.length === 0 ? [undefined] : ids;
    return scopes.some((id) => !backgroundInForce(taken, id, channel, zone).taken);
  });
  const line = (id: string | undefined) => (
    <BackgroundLine
      key={id ?? 'the site'}
      store={store}
      monitor={id}
      taken={taken}
      channels={channels}
      zone={zone}
      covered={covered}
      takes={mayNow('command')}
      open={open.value === (id ?? '')}
      toggle={(on) => {
        open.value = on ? (id ?? '') : null;
      }}
    />
  );
  return (
    <section class="sp-part sp-background" aria-labelledby="sp-background">
      <h2 id="sp-background" tabIndex={-1}>
        Background
      </h2>
      {missing.length > 0 && !covered && (
        <p class="sp-caution">
          <Shape of="caution" />
          <b>Background not taken:</b> {missing.map((channel) => columnFacts(channel).name).join(', ')}
          {ids.length > 0 && ' (not for every monitor)'}. What is assumed in its place is shown; alarms work by it.
        </p>
      )}
      <p class="soft">
        Take it in clean air at the staging place, before the entry. A monitor’s own counts before the site’s.
      </p>
      <ul class="sp-scopes">
        {line(undefined)}
        {ids.map(line)}
      </ul>
      {ids.length === 0 && <p>No monitor has been heard yet.</p>}
    </section>
  );
}
