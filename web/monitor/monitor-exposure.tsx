/** What the wearer took in so far, over all monitors that they wore: an estimate, with from how much of the time. */
import type { MonitorView } from '../../shared/protocol/board.ts';
import { isCovered } from '../feed/covered.ts';
import type { Store } from '../feed/store.ts';
import { exposureFacts, leaveWords, mixtureWords, toLimitWords } from '../words/exposure-words.ts';
import { ageWords, clockTime, secondsSince } from '../words/times.ts';
import { columnFacts } from '../words/values.ts';

export function MonitorExposure({ store, view, zone }: { store: Store; view: MonitorView; zone: string }) {
  if (view.entrant === undefined) return null;
  const exposure = store.head.value?.people.find((one) => one.name === view.entrant)?.exposure;
  const covered = isCovered(store.feed.value.phase);
  const nowMs = store.nowMs.value;
  if (exposure === undefined) {
    return (
      <section class="monitor-exposure" aria-label="Exposure">
        <h2>Exposure</h2>
        <p class="soft">Nothing is summed up for {view.entrant} yet.</p>
      </section>
    );
  }
  const next = toLimitWords(exposure);
  const mixed = mixtureWords(exposure);
  const leave = leaveWords(exposure);
  return (
    <section class="monitor-exposure" aria-label="Exposure">
      <h2>
        Exposure of {view.entrant}
        <span>{covered ? ', as last told; not known now' : ', an estimate'}</span>
      </h2>
      {exposure.correcting && (
        <p>
          <b>Being corrected:</b> news came too late to be in these figures.
        </p>
      )}
      {next !== null && !covered && (
        <p class="exposure-next">
          <b>{next}</b>
        </p>
      )}
      {leave !== null && !covered && <p class="exposure-leave">{leave}</p>}
      <dl class="monitor-status">
        {exposure.channels.map((channel) => {
          const background = view.readings[channel.channel]?.background ?? null;
          const facts = exposureFacts(channel, channel.dose === null ? null : background);
          return (
            <div key={channel.channel} class="exposure-channel">
              <dt>{columnFacts(channel.channel).name}</dt>
              {facts.map((fact) => (
                <dd key={fact.name} class={fact.share !== null && fact.share >= 1 ? 'over' : ''}>
                  <span class="soft">{fact.name}</span> {fact.words}
                  {fact.coverage !== null && <span class="soft"> ({fact.coverage})</span>}
                </dd>
              ))}
            </div>
          );
        })}
        {mixed !== null && (
          <div class="exposure-channel">
            <dt>mixture, sum of the shares of the limits</dt>
            <dd>{mixed}</dd>
          </div>
        )}
      </dl>
      <p class="soft small">
        From {clockTime(exposure.fromMs, zone)} to {clockTime(exposure.atMs, zone)},{' '}
        {ageWords(secondsSince(exposure.atMs, nowMs))} ago, over every monitor worn. Outside the suit: what it holds off
        is not taken off. The way out and the air are not in it.
      </p>
    </section>
  );
}
