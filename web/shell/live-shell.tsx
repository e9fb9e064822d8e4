/** The frame of every page that shows the live board. */
import type { ComponentChildren } from 'preact';
import { useEffect } from 'preact/hooks';
import { Announce } from '../board/announce.tsx';
import { SummaryLine } from '../board/summary-line.tsx';
import type { Store } from '../feed/store.ts';
import { sound } from '../sound/sound.ts';
import { SoundControl } from '../sound/sound-control.tsx';
import { DemoBand, FeedNotice, NoticeBand, PurposeBand, RecordingBand } from './bands.tsx';
import { Cautions } from './cautions.tsx';
import { keepTitle } from './title.ts';
import { TopBar } from './top-bar.tsx';

type Props = { store: Store; wall?: boolean; children: ComponentChildren };

export function LiveShell({ store, wall = false, children }: Props) {
  useEffect(() => keepTitle(store), [store]);
  useEffect(() => sound.follow(store), [store]);
  return (
    <div class={wall ? 'live wall' : 'live'}>
      <section aria-label="What this screen shows">
        <PurposeBand store={store} />
        <RecordingBand store={store} />
      </section>
      {!wall && <TopBar store={store} />}
      {!wall && <DemoBand />}
      <div class="summary-place">
        <SummaryLine store={store} />
        <FeedNotice store={store} />
      </div>
      <NoticeBand store={store} />
      {children}
      {wall && (
        <div class="wall-sound">
          <SoundControl />
        </div>
      )}
      <Cautions />
      <Announce store={store} />
    </div>
  );
}
