/** The background of one monitor, or of the site: what is in force, and taking or typing another. */
import { useComputed, useSignal } from '@preact/signals';
import type { BoardHead } from '../../shared/protocol/board.ts';
import { valueWords } from '../../shared/quantity/display.ts';
import { PressButton, Said } from '../desk/said.tsx';
import type { CommandBody } from '../desk/sender.ts';
import { useAct } from '../desk/use-act.ts';
import type { Store } from '../feed/store.ts';
import { Shape } from '../words/shapes.tsx';
import { columnFacts, flagWords } from '../words/values.ts';
import { type BackgroundBody, BackgroundForm, ConfirmSilence, OverrideForm } from './background-forms.tsx';
import { backgroundInForce, type Next, nextOf, SITE } from './background-words.ts';

type Props = {
  store: Store;
  /** Absent: the site. */
  monitor: string | undefined;
  taken: NonNullable<BoardHead['backgrounds']>;
  channels: readonly string[];
  zone: string;
  covered: boolean;
  takes: boolean;
  /** Whether its form for typed values is open. */
  open: boolean;
  toggle: (open: boolean) => void;
};

type Asked = { readonly body: BackgroundBody; readonly next: Next };

export function BackgroundLine(props: Props) {
  const { store, monitor, taken, channels, zone, covered, takes, open, toggle } = props;
  const act = useAct();
  const asked = useSignal<Asked | null>(null);
  const name = monitor ?? 'The site';

  async function send(body: BackgroundBody): Promise<void> {
    if (covered) return;
    const command: CommandBody = { type: 'background', scope: monitor ?? SITE, ...body };
    const answer = await act.send(command, `the background of ${monitor ?? 'the site'} is taken.`);
    if (answer === null) return;
    const next = nextOf(answer);
    asked.value = next.kind === 'said' ? null : { body, next };
    if (next.kind !== 'said') act.clear();
    if (answer.status === 'done') toggle(false);
  }
  const back = () => {
    asked.value = null;
    act.clear();
  };
  const waiting = asked.value;
  return (
    <li aria-label={name}>
      <div class="sp-scope">
        <p class="sp-who">
          <b>{name}</b>
          {monitor === undefined && <span class="soft small"> for every monitor without its own</span>}
        </p>
        <dl class={covered ? 'sp-bases covered' : 'sp-bases'}>
          {channels.map((channel) => (
            <Base key={channel} {...{ store, monitor, taken, channel, zone }} />
          ))}
        </dl>
        {takes && waiting === null && (
          <div class="sp-buttons">
            {monitor !== undefined && (
              <PressButton off={covered} busy={act.busy} onPress={() => void send({ take: true })}>
                Take what it reads now
              </PressButton>
            )}
            {!open && (
              <PressButton
                off={covered}
                busy={act.busy}
                onPress={() => {
                  act.clear();
                  toggle(true);
                }}
              >
                Type values…
              </PressButton>
            )}
          </div>
        )}
      </div>
      {takes && open && waiting === null && (
        <BackgroundForm
          name={name}
          channels={channels}
          busy={act.busy}
          off={covered}
          send={(typed) => void send({ channels: typed })}
          back={() => toggle(false)}
        />
      )}
      {waiting?.next.kind === 'override' && (
        <OverrideForm
          name={name}
          words={waiting.next.words}
          busy={act.busy}
          off={covered}
          send={(override) => void send({ ...waiting.body, override })}
          back={back}
        />
      )}
      {waiting?.next.kind === 'confirm' && (
        <ConfirmSilence
          name={name}
          alarms={waiting.next.alarms}
          busy={act.busy}
          off={covered}
          send={() => void send({ ...waiting.body, confirm: true })}
          back={back}
        />
      )}
      <Said act={act} zone={zone} />
    </li>
  );
}

type BaseProps = Pick<Props, 'store' | 'monitor' | 'taken' | 'zone'> & { channel: string };

function Base({ store, monitor, taken, channel, zone }: BaseProps) {
  const base = backgroundInForce(taken, monitor, channel, zone);
  // The text alone is watched: a packet that reads the same draws nothing.
  const reads = useComputed(() => {
    if (monitor === undefined) return null;
    const view = store.monitor(monitor).value;
    const cell = view?.readings[channel];
    if (cell === undefined) return 'does not measure it';
    if (cell.flag !== undefined || cell.value === null || cell.unit === null)
      return cell.flag === undefined ? 'no number' : flagWords(cell.flag);
    const doubt = cell.standing === 'good' ? '' : `, ${cell.reasons.map((reason) => reason.words).join('; ')}`;
    return `${view?.link === 'live' ? 'reads' : 'last read'} ${valueWords(channel, cell.value, cell.unit)}${doubt}`;
  }).value;
  return (
    <div class="sp-base">
      <dt class="soft small">{columnFacts(channel).name}</dt>
      <dd>
        <b>{base.value}</b>
        <span class={base.taken ? 'small' : 'small sp-not-taken'}>
          {!base.taken && <Shape of="caution" />}
          {base.words}
        </span>
        {reads !== null && <span class="soft small">{reads}</span>}
      </dd>
    </div>
  );
}
