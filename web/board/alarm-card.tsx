/** One alarm of a list. */
import { useComputed } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import type { AlarmView } from '../../shared/protocol/board.ts';
import { isWaiting } from '../feed/alarm-order.ts';
import type { Store } from '../feed/store.ts';
import { Age } from '../words/age.tsx';
import { isAside, shelvedWords, soundedWords, stateMark } from '../words/alarm-states.ts';
import { alarmSays } from '../words/alarm-words.ts';
import { PRIORITY_WORD, Shape } from '../words/shapes.tsx';
import { StateShape } from '../words/state-shape.tsx';
import { clockTime, leftWords, shortTime } from '../words/times.ts';
import { Acknowledge } from './acknowledge.tsx';
import { Reset } from './reset.tsx';

type Props = {
  store: Store;
  alarm: AlarmView;
  ended: boolean;
  zone: string;
  acts: boolean;
  /** Whether an officer has adopted the table of set-points. */
  reviewed: boolean;
  covered: boolean;
  /** On the page of alarms a card can be reached by Tab, and its keys act on it. */
  onKey?: (event: KeyboardEvent, alarm: AlarmView) => void;
  /** What else can be done with it. */
  children?: ComponentChildren;
};

const STATE_WORDS: Readonly<Partial<Record<AlarmView['state'], string>>> = {
  'returned-unacknowledged': 'back past its level; not answered',
  'latched-unacknowledged': 'held until it is answered and reset',
  'latched-acknowledged': 'held until it is reset',
};

/** One alarm: what it says, what to do about it, and apart from that where its level comes from. */
export function AlarmCard({ store, alarm, ended, zone, acts, reviewed, covered, onKey, children }: Props) {
  const learnedLater = Date.parse(alarm.raisedAt) - Date.parse(alarm.since) > 2000;
  const known = alarm.setPoint ? alarm.setPoint.reviewed : reviewed;
  const waits = isWaiting(alarm) && !ended;
  const classes = [
    'alarm',
    alarm.priority,
    waits ? 'waits' : 'answered',
    isAside(alarm) ? 'aside' : '',
    ended ? 'ended' : '',
  ];
  return (
    <article
      class={classes.filter((name) => name !== '').join(' ')}
      aria-label={`${alarm.priority}: ${alarmSays(alarm, covered)}`}
      tabIndex={onKey ? 0 : -1}
      data-alarm={alarm.id}
      {...(onKey ? { onKeyDown: (event: KeyboardEvent) => onKey(event, alarm) } : {})}
    >
      <p class="alarm-line">
        <span class="tag">
          <Shape of={alarm.priority} />
          {PRIORITY_WORD[alarm.priority]}
        </span>
        {alarm.firstOut && <span class="first-out">first out</span>}
        <span class="when">
          {clockTime(alarm.raisedAt, zone)} · <Age store={store} at={alarm.raisedAt} />
        </span>
      </p>
      <div class="alarm-main">
        <h3 class="alarm-words">
          {sayWho(alarm)}
          {alarmSays(alarm, covered)}
        </h3>
        {covered && <p class="note">as last told; nothing newer is known</p>}
        {alarm.late && (
          <p class="note">
            <b>late:</b> happened {clockTime(alarm.since, zone)}, told {clockTime(alarm.raisedAt, zone)}
          </p>
        )}
        {!alarm.late && learnedLater && <p class="note">began {clockTime(alarm.since, zone)}</p>}
        {alarm.whileDown && <p class="note">came due while the post was down</p>}
        {ended ? (
          <p class="note">
            <b>over</b>
          </p>
        ) : (
          <State store={store} alarm={alarm} zone={zone} />
        )}
        {alarm.acknowledgedBy && (
          <p class="note">
            <StateShape of="answered" />
            answered by {alarm.acknowledgedBy}
            {alarm.acknowledgedAt ? `, ${shortTime(alarm.acknowledgedAt, zone)}` : ''}
            {alarm.decision ? `: “${alarm.decision}”` : ''}
          </p>
        )}
      </div>
      {acts && waits && <Acknowledge store={store} alarm={alarm} zone={zone} />}
      {acts && !ended && alarm.state === 'latched-acknowledged' && <Reset store={store} alarm={alarm} />}
      <div class="alarm-more">
        {alarm.action !== '' && (
          <p class="action">
            To do, by your agency’s procedure{known ? '' : ' (not yet reviewed)'}: {alarm.action}
          </p>
        )}
        <p class="level-source">
          level: {alarm.setPoint ? `${alarm.setPoint.words} · ` : ''}
          {alarm.source}
        </p>
      </div>
      {children}
    </article>
  );
}

/** Where it stands, each with its shape; nothing where it only waits. */
function State({ store, alarm, zone }: { store: Store; alarm: AlarmView; zone: string }) {
  const mark = stateMark(alarm);
  const waits = isWaiting(alarm);
  const held = STATE_WORDS[alarm.state];
  return (
    <>
      {waits && (alarm.escalated || alarm.soundedAgain !== undefined) && (
        <p class={`note state${alarm.escalated ? ' escalated' : ''}`}>
          {alarm.escalated && <StateShape of="escalated" />}
          {alarm.escalated && <b>escalated: nobody answered</b>}
          {alarm.escalated && alarm.soundedAgain !== undefined && ', '}
          {alarm.soundedAgain !== undefined && soundedWords(alarm.soundedAgain)}
        </p>
      )}
      {held && (
        <p class="note state">
          <StateShape of={alarm.state.startsWith('latched') ? 'held' : 'returned'} />
          {held}
        </p>
      )}
      {mark === 'shelved' && alarm.shelved && (
        <p class="note state">
          <StateShape of="shelved" />
          {shelvedWords(alarm, zone)}, <Left store={store} until={alarm.shelved.until} />
        </p>
      )}
      {mark === 'suppressed' && (
        <p class="note state">
          <StateShape of="suppressed" />
          suppressed by design: {alarm.suppressed}
        </p>
      )}
      {mark === 'out-of-service' && (
        <p class="note state">
          <StateShape of="out-of-service" />
          out of service: “{alarm.outOfService}”
        </p>
      )}
    </>
  );
}

/** "ends in 9 min", counted by the post's clock. */
function Left({ store, until }: { store: Store; until: string }) {
  const words = useComputed(() => leftWords(until, store.nowMs.value)).value;
  return <>{words}</>;
}

/** The call sign first, unless the words begin with it already. */
function sayWho(alarm: AlarmView): string {
  const who = alarm.entrant ?? alarm.monitor;
  if (who === '') return '';
  return alarm.words.startsWith(who) ? '' : `${who} `;
}
