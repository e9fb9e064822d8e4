/** What a draft changes, in words, for whoever is about to adopt it. */
import { setPointWords } from '../../shared/incident/levels.ts';
import { channelName } from '../../shared/quantity/display.ts';
import { changedFields, type Draft, pointOf, removedFrom } from './draft.ts';
import { FIELD_WORDS, groupedDigits } from './level-words.ts';

const OF_THE_LEVEL: ReadonlySet<string> = new Set(['value', 'unit', 'compare', 'direction', 'channel']);

/** A line for each set-point that is new, gone or not as it is in force. */
export function draftChanges(draft: Draft): string[] {
  const lines: string[] = [];
  for (const point of draft.points) {
    const now = pointOf(point);
    const level = now === null ? 'not readable yet' : setPointWords(now);
    const which = `${channelName(point.channel)}, ${point.id === '' ? 'without a short name' : point.id}`;
    if (point.was === null) {
      lines.push(`New: ${which}: ${point.priority} ${level}`);
      continue;
    }
    const fields = changedFields(point);
    if (fields.length === 0) continue;
    const rest = fields.filter((field) => !OF_THE_LEVEL.has(field)).map((field) => FIELD_WORDS[field] ?? field);
    const moved = rest.length === fields.length ? [] : [`${setPointWords(point.was)}, now ${level}`];
    lines.push(`Changed: ${which}: ${[...moved, ...rest].join('; ')}`);
  }
  for (const point of removedFrom(draft)) {
    lines.push(`Gone: ${channelName(point.channel)}, ${point.id}: ${point.priority} ${setPointWords(point)}`);
  }
  return lines.map(groupedDigits);
}
