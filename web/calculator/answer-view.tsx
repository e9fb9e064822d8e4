import type { Spoken, Worked } from '../../shared/quantity/worked.ts';
import { Shape } from '../words/shapes.tsx';
import type { Result, Solved } from './calculation.ts';
import { figures, rounded } from './figures.ts';
import { tagWords } from './substance-choice.ts';

/** The answers as they stand, each with formula, numbers and source. A caution is said once. */
export function Answers({ solved }: { solved: Solved }) {
  const said = new Set<string>();
  return (
    <section class="calc-answers" aria-label="Answer">
      <p class="unseen" role="status">
        {solved.results.map(spoken).join('; ')}
      </p>
      {solved.waiting.length > 0 && <p class="calc-waiting">Still to fill in: {solved.waiting.join(', ')}.</p>}
      {Object.keys(solved.wrong).length > 0 && <p class="calc-waiting">No answer: look at the marked field.</p>}
      {solved.results.map((result) => (
        <Answered key={result.label} result={result} said={said} />
      ))}
    </section>
  );
}

function Answered({ result, said }: { result: Result; said: Set<string> }) {
  const { label, answer, beside } = result;
  if (!answer.ok) {
    return (
      <div class="calc-answer">
        <h3>{label}</h3>
        <p class="calc-refused">
          <Shape of="caution" />
          No answer. {answer.message}
        </p>
      </div>
    );
  }
  const cautions = answer.cautions.filter((words) => !said.has(words));
  for (const words of cautions) said.add(words);
  return (
    <div class="calc-answer">
      <h3>{label}</h3>
      <p class="calc-value">
        {answer.value === null ? <b class="calc-words">{answer.words}</b> : <Figure answer={answer} />}
        {beside !== undefined && <span class="calc-beside">{beside}</span>}
      </p>
      <dl class="calc-working">
        <dt>Formula</dt>
        <dd>{answer.formula}</dd>
        <dt>Numbers put in</dt>
        <dd>{inputWords(answer)}</dd>
        <dt>Source</dt>
        <dd>
          {answer.source} ({tagWords(answer.sourceTag)})
        </dd>
      </dl>
      {cautions.length > 0 && (
        <ul class="calc-cautions">
          {cautions.map((words) => (
            <li key={words}>{words}</li>
          ))}
        </ul>
      )}
    </div>
  );
}

/** The answer alone: the working would be read out anew with every key. */
function spoken({ label, answer, beside }: Result): string {
  if (!answer.ok) return `${label}: no answer`;
  if (answer.value === null) return `${label}: ${answer.words}`;
  const number = `${answer.estimate ? 'about ' : ''}${figures(rounded(answer.value, answer.rounding))} ${answer.unit}`;
  return [`${label}: ${number}`, ...(beside === undefined ? [] : [beside])].join(', ');
}

function Figure({ answer }: { answer: Worked }) {
  return (
    <span>
      {answer.estimate && 'about '}
      <b>{figures(rounded(answer.value, answer.rounding))}</b> {answer.unit}
    </span>
  );
}

/** What went in; and for an answer that was rounded, what came out before. */
function inputWords(answer: Worked | Spoken): string {
  const inputs = answer.inputs.map(({ name, value, unit }) => `${name} ${precise(value)} ${unit}`.trim());
  const unrounded =
    answer.value !== null && answer.estimate ? [`before rounding ${precise(answer.value)} ${answer.unit}`] : [];
  return [...inputs, ...unrounded].join('; ');
}

function precise(value: number): string {
  return figures(rounded(value, { figures: 6, towards: 'nearest' }));
}
