/** Full-width words about the whole page: exercise, standby, not recorded, not live. */
import { useComputed, useSignal } from '@preact/signals';
import { actInDemonstration, session } from '../access/session.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { Shape } from '../words/shapes.tsx';
import { ageWords, clockTime, isKnownZone } from '../words/times.ts';

/** EXERCISE on every screen of one; without an incident, that there is none. */
export function PurposeBand({ store }: { store: Store }) {
  const head = store.head.value;
  if (!head) return null;
  if (head.incident?.exercise || head.journal.purpose === 'exercise') {
    return (
      <div class="band exercise">
        <b>EXERCISE</b>
        <b class="what">{head.incident?.name ?? head.journal.name}</b>
        <b>EXERCISE</b>
      </div>
    );
  }
  if (head.journal.purpose === 'standby') {
    return <div class="band standby">Standby: no incident is open. What is heard is kept in the standby journal.</div>;
  }
  return null;
}

/** The record is failing: as wide as the page, until it is mended. */
export function RecordingBand({ store }: { store: Store }) {
  const recording = useComputed(() => store.head.value?.recording).value;
  const zone = store.head.value?.journal.zone ?? 'UTC';
  if (!recording || recording.ok) return null;
  return (
    <div class="band not-recorded" role="alert">
      <b>
        <Shape of="danger" />
        NOT BEING RECORDED
      </b>
      <span>
        {recording.since ? `since ${clockTime(recording.since, zone)}. ` : ''}
        {recording.words ?? 'The board goes on from memory.'}
      </span>
    </div>
  );
}

/** Gaps and steps of the clock of the last ten minutes. */
export function NoticeBand({ store }: { store: Store }) {
  const notices = useComputed(() => store.head.value?.notices ?? []).value;
  const zone = store.head.value?.journal.zone ?? 'UTC';
  const newest = notices.at(-1);
  const covered = useComputed(() => isCovered(store.feed.value.phase)).value;
  if (!newest) return null;
  return (
    <section class={covered ? 'band notice covered' : 'band notice'} aria-label="Notices of the post">
      <Shape of="notice" />
      {clockTime(newest.at, zone)} {newest.words}
      {notices.length > 1 && ` (and ${notices.length - 1} before)`}
    </section>
  );
}

/** How long the post has said nothing; laid over the summary, so that nothing below it moves. */
export function FeedNotice({ store }: { store: Store }) {
  const phase = useComputed(() => store.feed.value.phase).value;
  if (phase === 'live') return null;
  if (phase === 'quiet') {
    return (
      <div class="feed-notice quiet" role="status">
        <Shape of="caution" />
        No word from the post for 3 s: what you see may be old
      </div>
    );
  }
  if (phase === 'connecting') {
    return (
      <div class="feed-notice connecting" role="status">
        <b>Calling the post…</b> <span>Nothing is shown until it answers.</span>
      </div>
    );
  }
  return <NotLive store={store} />;
}

function NotLive({ store }: { store: Store }) {
  const { lastFrameAt, reason } = store.feed.value;
  const zone = store.head.value?.journal.zone ?? 'UTC';
  const now = store.nowMs.value; // redraws once a second
  const silentMs = Math.max(0, performance.now() - lastFrameAt);
  const last = now === 0 ? '' : clockTime(now - silentMs, zone);
  return (
    <section class="feed-notice covered" aria-label="Not live">
      <p role="alert">
        <Shape of="danger" />
        <b>NOT LIVE</b>
        <span class="unseen">: the values are covered</span>
      </p>
      <p>
        last word from the post {last}
        {isKnownZone(zone) ? '' : ' UTC'}, {ageWords(Math.floor(silentMs / 1000))} ago
      </p>
      <p class="small">
        {reason ? `The post said: ${reason}. ` : ''}Values are covered until it is heard again. Use the radio.
      </p>
    </section>
  );
}

/** In a demonstration: one plain click that says what it does. */
export function DemoBand() {
  const refused = useSignal('');
  if (session.value?.by !== 'demo') return null;
  return (
    <section class="band demo" aria-label="Demonstration">
      <span>This is a demonstration: you are looking only.</span>
      <button
        type="button"
        class="button"
        onClick={async () => {
          const answer = await actInDemonstration();
          refused.value = answer.ok ? '' : answer.message;
        }}
      >
        Act as commander in this demonstration
      </button>
      {refused.value !== '' && <span role="alert">{refused.value}</span>}
    </section>
  );
}
