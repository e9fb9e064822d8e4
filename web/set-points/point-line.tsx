/** One set-point for reading: the level, how it comes and goes, what to do, and apart from that where it is from. */
import type { ComponentChildren } from 'preact';
import type { SetPoint } from '../../shared/alarm/set-point.ts';
import { setPointWords } from '../../shared/incident/levels.ts';
import { PRIORITY_WORD, Shape } from '../words/shapes.tsx';
import { COMPARE_WORDS, deadbandWords, delayWords, groupedDigits, TAG_WORDS } from './level-words.ts';

type Props = {
  point: SetPoint;
  /** Whether an officer has adopted the table. */
  reviewed: boolean;
  /** What the draft makes of it: "changed", "new". */
  mark?: string | null;
  children?: ComponentChildren;
};

export function PointLine({ point, reviewed, mark, children }: Props) {
  return (
    <div class="sp-line">
      <div class="sp-level">
        <p>
          <span class={`sp-priority ${point.priority}`}>
            <Shape of={point.priority} />
            {PRIORITY_WORD[point.priority]}
          </span>
          {point.withdraw && <span class="sp-mark">withdraw line</span>}
          {point.protected && <span class="sp-mark">protected: never put aside</span>}
          {point.latched && <span class="sp-mark">latched: held until reset</span>}
          {mark && <b class="sp-mark draft">{mark}</b>}
        </p>
        <p class="sp-big">{groupedDigits(setPointWords(point))}</p>
        <p class="soft small">
          {COMPARE_WORDS[point.compare]} · {point.id}
        </p>
      </div>
      <ul class="sp-comes small" aria-label="How it comes and goes">
        <li>deadband {deadbandWords(point)}</li>
        <li>alarm {delayWords(point.onDelayMs)}</li>
        <li>returns {delayWords(point.offDelayMs)}</li>
      </ul>
      <p class="sp-action small">
        <span class="soft">To do{reviewed ? '' : ' (not yet reviewed)'}:</span>{' '}
        {point.action === '' ? '—' : point.action}
      </p>
      <p class="sp-source small">
        <span class="soft">Level from:</span> {point.source}
        <span class={`sp-tag ${point.sourceTag === 'memory' ? 'unsure' : ''}`}>
          {point.sourceTag === 'memory' && <Shape of="caution" />}
          {TAG_WORDS[point.sourceTag]}
        </span>
      </p>
      {children}
    </div>
  );
}
