/**
 * The examples of docs/protocol.md. What follows "json" or "sh" behind a fence says what the block is: a packet is
 * followed by the answer that a fresh post gives to it, after all the packets before it.
 */
import { readFileSync } from 'node:fs';

export type Example = {
  /** Words behind the fence: `json packet` is language `json`, kind `packet`. */
  readonly language: string;
  readonly kind: string;
  readonly detail: string;
  readonly text: string;
  /** Line of the document that the block begins on. */
  readonly line: number;
};

const ROOT = new URL('../../', import.meta.url);

export function readDocument(path: string): string {
  return readFileSync(new URL(path, ROOT), 'utf8');
}

/** Fenced blocks of a document, in order. */
export function examplesOf(path: string): Example[] {
  const examples: Example[] = [];
  let open: { fence: string; line: number; body: string[] } | null = null;
  for (const [i, line] of readDocument(path).split('\n').entries()) {
    const fence = /^```(.*)$/.exec(line)?.[1];
    if (open === null) {
      if (fence !== undefined) open = { fence, line: i + 1, body: [] };
    } else if (fence === '') {
      const [language = '', kind = '', detail = ''] = open.fence.split(' ');
      examples.push({ language, kind, detail, text: open.body.join('\n'), line: open.line });
      open = null;
    } else open.body.push(line);
  }
  if (open !== null) throw new Error(`${path}:${open.line}: a block that does not end`);
  return examples;
}

/** Each example of `kind` with the block after it, which must be of the kind `answer`. */
export function pairsOf(examples: readonly Example[], kind: string, answer: string): [Example, Example][] {
  return examples.flatMap((example, i): [Example, Example][] => {
    if (example.kind !== kind) return [];
    const next = examples[i + 1];
    if (next?.kind !== answer) throw new Error(`line ${example.line}: no ${answer} after it`);
    return [[example, next]];
  });
}
