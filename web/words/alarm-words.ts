/** An alarm's words while the post is not heard: what it is about, without the value of then as if it were now's. */
import type { AlarmView } from '../../shared/protocol/board.ts';
import { columnFacts, figures } from './values.ts';

/** "oxygen 18.9 %vol", long figures in groups as in the table; or only "oxygen" while values are covered. */
export function alarmSays(alarm: AlarmView, covered: boolean): string {
  if (alarm.sensor === undefined) return alarm.words;
  if (!covered) return grouped(alarm.words);
  const { name } = columnFacts(alarm.sensor);
  return alarm.kind === 'over-range' ? `${name} over range` : name;
}

/** Long figures in groups, as in the table. */
export function grouped(words: string): string {
  return words.replace(/\b\d{5,}\b/g, (digits) => figures(Number(digits), 0));
}
