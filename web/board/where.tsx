import { type ReadonlySignal, useComputed } from '@preact/signals';
import type { Link } from '../../shared/protocol/board.ts';
import type { Store } from '../feed/store.ts';
import { Age } from '../words/age.tsx';
import { stateTag } from '../words/alarm-states.ts';
import { exposureLine } from '../words/exposure-words.ts';
import { Shape } from '../words/shapes.tsx';
import { clockTime } from '../words/times.ts';
import { lastKnownWords, type StillView } from './row-words.ts';

type Props = {
  store: Store;
  view: StillView;
  heardAt: ReadonlySignal<string>;
  link: Link;
  zone: string;
  covered: boolean;
  /** The row says already what its mode leaves out. */
  skipMode: boolean;
};

/** Last column of a row: the zone, the place, when it was heard, and what is wrong with the instrument itself. */
export function Where({ store, view, heardAt, link, zone, covered, skipMode }: Props) {
  const lastKnown = useComputed(() => lastKnownWords(view, store.alarms.value)).value;
  const silence = useComputed(() => {
    const alarm = store.alarms.value.find((one) => one.monitor === view.id && one.kind === 'silent');
    return alarm === undefined ? '' : stateTag(alarm, zone);
  }).value;
  const exposure = useComputed(() => {
    if (view.entrant === undefined) return '';
    const person = store.head.value?.people.find((one) => one.name === view.entrant);
    return person?.exposure === undefined ? '' : exposureLine(person.exposure);
  }).value;
  const { battery, linkQuality, pump, test, testDue } = view.status;
  if (covered) return <td class="where covered">–</td>;
  const { place } = view;
  const silent = view.zone === 'hot' ? 'danger' : 'caution';
  return (
    <td class="where">
      <p class="zone">
        <span>{view.zone ? `${view.zone} zone` : 'zone not told'}</span>
        {link !== 'lost' && (
          <span class={link === 'stale' ? 'heard late' : 'heard'}>
            <span class="unseen">, heard </span>
            <Age store={store} at={heardAt} /> ago
          </span>
        )}
      </p>
      {place && <p class="note place">{place}</p>}
      {link === 'lost' && (
        <p class={`note silent ${silent}`}>
          <Shape of={silent} />
          <b>
            silent <Age store={store} at={heardAt} />
          </b>
          {silence !== '' && `, ${silence}`}
          <br />
          {lastKnown}, <Age store={store} at={heardAt} /> ago; unknown now
        </p>
      )}
      {battery !== undefined && <p class="note mend">battery {battery} %</p>}
      {pump === 'blocked' && <p class="note mend">pump blocked</p>}
      {pump === 'off' && <p class="note mend">pump off</p>}
      {linkQuality !== undefined && <p class="note">weak radio, {linkQuality} %</p>}
      {!skipMode && view.notWatched.length > 0 && <p class="note mend">not watched: {view.notWatched.join('; ')}</p>}
      {exposure !== '' && <p class="note exposure">{exposure}</p>}
      {test && <p class="note mend">horn and lights being tested</p>}
      {testDue && <p class="note">test due</p>}
      {view.refused && (
        <p class="note mend">
          {view.refused.count === 1 ? 'a packet was' : `${view.refused.count} packets were`} not taken,{' '}
          {clockTime(view.refused.at, zone)}: {view.refused.message}
        </p>
      )}
    </td>
  );
}
