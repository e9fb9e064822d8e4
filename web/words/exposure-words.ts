/**
 * What a person took in so far, in words: each figure with its limit and from how much of the time it was measured.
 * All of it is an estimate, and a lower bound where part of the time was not measured.
 */
import type { ExposureSummary } from '../../shared/protocol/board.ts';
import { columnFacts, figures, inColumnUnit } from './values.ts';

export type ExposureChannel = ExposureSummary['channels'][number];
type Figure = NonNullable<ExposureChannel['stel']>;
export type ExposureFact = {
  readonly name: string;
  readonly words: string;
  readonly coverage: string | null;
  /** Share of the limit; null without one. */
  readonly share: number | null;
};

const MINUTE_MS = 60_000;
const HOUR_MS = 3_600_000;

/** "6.2 of 8 h", "12 of 15 min". */
export function coverageWords(coveredMs: number, spanMs: number): string {
  if (spanMs >= HOUR_MS) return `${trim(coveredMs / HOUR_MS)} of ${trim(spanMs / HOUR_MS)} h`;
  if (spanMs < MINUTE_MS) return `${Math.floor(coveredMs / 1000)} of ${Math.floor(spanMs / 1000)} s`;
  if (coveredMs < MINUTE_MS) return `${Math.floor(coveredMs / 1000)} s of ${Math.floor(spanMs / MINUTE_MS)} min`;
  return `${Math.floor(coveredMs / MINUTE_MS)} of ${Math.floor(spanMs / MINUTE_MS)} min`;
}

/** Down, so that what was measured never looks like more. */
function trim(hours: number): string {
  return String(Math.floor(hours * 10) / 10);
}

function inUnit(channel: ExposureChannel, value: number): string {
  const shown = inColumnUnit(channel.channel, value, channel.unit);
  const { decimals } = columnFacts(channel.channel);
  // An average is finer than a reading: 0.4 ppm must not be written as 0.
  const text = Math.abs(shown.value) < 10 && decimals === 0 ? figures(shown.value, 1) : figures(shown.value, decimals);
  return `${text} ${shown.unit}`;
}

/** A reading as the table writes it. */
function asRead(channel: ExposureChannel, value: number): string {
  const shown = inColumnUnit(channel.channel, value, channel.unit);
  return `${figures(shown.value, columnFacts(channel.channel).decimals, true)} ${shown.unit}`;
}

function dose(mR: number): string {
  return `${mR < 10 ? mR.toFixed(3) : Number(mR.toPrecision(3))} mR`;
}

function fact(name: string, figure: Figure, write: (value: number) => string): ExposureFact {
  const limit = figure.limit === null ? '' : `, limit ${write(figure.limit)}`;
  return {
    name,
    words: `${figure.partial ? 'at least ' : ''}${write(figure.value)}${limit}`,
    coverage: `${figure.partial ? 'partial, ' : ''}${coverageWords(figure.coveredMs, figure.spanMs)} measured`,
    share: figure.limit === null || figure.limit <= 0 ? null : figure.value / figure.limit,
  };
}

/** The figures of one channel. `backgroundURh`: what counts as nothing for gamma, µR/h, and whether it is assumed. */
export function exposureFacts(
  channel: ExposureChannel,
  background: { readonly value: number; readonly assumed: boolean } | null = null,
): ExposureFact[] {
  const facts: ExposureFact[] = [];
  const write = (value: number) => inUnit(channel, value);
  if (channel.stel !== null) facts.push(fact('15-min average (STEL)', channel.stel, write));
  if (channel.twa !== null) facts.push(fact('8-h average (TWA)', channel.twa, write));
  if (channel.dose !== null) {
    facts.push(fact('dose, background included', channel.dose, dose));
    if (background !== null) {
      const part = (background.value * channel.dose.coveredMs) / HOUR_MS / 1000;
      const rate = `${figures(background.value, 0)} µR/h${background.assumed ? ', assumed' : ''}`;
      facts.push({ name: 'of it background', words: `about ${dose(part)} (${rate})`, coverage: null, share: null });
    }
  }
  if (channel.channel === 'o2') {
    if (channel.minimum !== null)
      facts.push({ name: 'least', words: asRead(channel, channel.minimum), coverage: null, share: null });
  } else if (channel.peak !== null)
    facts.push({ name: 'peak', words: asRead(channel, channel.peak), coverage: null, share: null });
  if (channel.overRangeMs > 0) {
    const seconds = Math.ceil(channel.overRangeMs / 1000);
    facts.push({ name: 'over range', words: `for ${seconds} s: in no figure`, coverage: null, share: null });
  }
  return facts;
}

/** From here on minutes would look more exact than they are. */
const LONG_MIN = 180;

const GOVERNS = {
  reached: 'reached already',
  rate: 'if it goes on as it reads now',
  trend: 'if it goes on rising as in the last minute',
} as const;

/** A shift: what comes later than that is no matter of starting back. */
const SHIFT_MIN = 480;

/**
 * Until the wearer must start back, as far as exposure tells; null where that is over a shift away or not known. What
 * could not be told is named, so that nobody takes the figure for the whole.
 */
export function leaveWords(summary: ExposureSummary): string | null {
  const { timeLeft } = summary;
  if (timeLeft === undefined || timeLeft.minutes === null || timeLeft.minutes > SHIFT_MIN) return null;
  return timeLeft.words;
}

/** "carbon monoxide: limit (co-stel) in 12 min, if it goes on as it reads now"; null where nothing is foreseen. */
export function toLimitWords(summary: ExposureSummary): string | null {
  if (summary.toLimit === null) return null;
  const { minutes, channel, setPoint, governs } = summary.toLimit;
  const name = columnFacts(channel).name;
  if (governs === 'reached' || minutes <= 0) return `${name}: limit ${setPoint} is reached`;
  // Down: a minute that is not whole is no minute left.
  const whole =
    minutes < 1
      ? 'less than 1 min'
      : minutes < LONG_MIN
        ? `${Math.floor(minutes)} min`
        : `more than ${Math.floor(minutes / 60)} h`;
  return `${name}: limit ${setPoint} in ${whole}, ${GOVERNS[governs]}`;
}

/** The sum of shares of the limits, for gases that act alike; null where none was formed. */
export function mixtureWords(summary: ExposureSummary): string | null {
  if (summary.mixture === null) return null;
  const { value, complete, limit, leftOut } = summary.mixture;
  const of = limit === null ? '' : `, limit ${limit}`;
  const without = leftOut.length === 0 ? '' : `; without ${leftOut.map((one) => columnFacts(one).name).join(', ')}`;
  return `${complete ? '' : 'at least '}${value.toFixed(2)}${of}${without}`;
}

/** From these on a figure is worth a line in the table: share of a limit, minutes to one, mR. Our own choice. */
const WORTH_SAYING = 0.1;
const SOON_MIN = 60;
const DOSE_MR = 0.1;

/**
 * One line for the table: what is nearest to its limit, and the dose. Empty where nothing is near one and nobody was
 * irradiated: "0 of 200" would fill every row with nothing.
 */
export function exposureLine(summary: ExposureSummary): string {
  const parts: string[] = [];
  let nearest: { words: string; share: number } | null = null;
  for (const channel of summary.channels) {
    const { name } = columnFacts(channel.channel);
    for (const { figure, of } of [
      { figure: channel.stel, of: '15-min' },
      { figure: channel.twa, of: '8-h' },
    ]) {
      if (figure === null || figure.limit === null || figure.limit <= 0) continue;
      const share = figure.value / figure.limit;
      if (share < WORTH_SAYING || (nearest !== null && share <= nearest.share)) continue;
      const partial = figure.partial ? ', partial' : '';
      const limit = inUnit(channel, figure.limit);
      const [value] = inUnit(channel, figure.value).split(' ');
      nearest = { words: `${of} ${name} ${value} of ${limit}${partial}`, share };
    }
    if (channel.dose !== null && channel.dose.value >= DOSE_MR) {
      parts.push(`dose ${channel.dose.partial ? 'at least ' : ''}${dose(channel.dose.value)}`);
    }
  }
  if (nearest !== null) parts.unshift(nearest.words);
  if (summary.toLimit !== null && summary.toLimit.minutes < SOON_MIN) {
    const { minutes, governs } = summary.toLimit;
    parts.unshift(governs === 'reached' ? 'limit reached' : `limit in ${Math.floor(minutes)} min (estimate)`);
  }
  if (parts.length > 0 && summary.correcting) parts.push('being corrected');
  return parts.join('; ');
}
