/** A table of set-points as JSON text, to be kept, reviewed on paper, and taken in again. */
import { checkTable, type TableProblem } from './check-table.ts';
import { type SetPointTable, setPointTable } from './set-point.ts';

export type TableRead =
  | { readonly ok: true; readonly table: SetPointTable; readonly problems: readonly TableProblem[] }
  | { readonly ok: false; readonly problems: readonly TableProblem[] };

/** The table as text, one line a field, the same table always the same text. */
export function tableToText(table: SetPointTable): string {
  return `${JSON.stringify(setPointTable.parse(table), null, 2)}\n`;
}

/** A table from text. Not ok where it is no table or has an error; warnings stand beside a table that is good. */
export function tableFromText(text: string): TableRead {
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch {
    return { ok: false, problems: [{ path: '', code: 'not-json', words: 'This is no JSON', severity: 'error' }] };
  }
  const read = setPointTable.safeParse(data);
  if (!read.success) {
    const problems = read.error.issues.map(
      (issue): TableProblem => ({
        path: issue.path.map(String).join('.'),
        code:
          issue.code === 'too_big' && issue.path[0] === 'setPoints' && issue.path.length === 1
            ? 'too-many'
            : 'not-a-table',
        words: issue.message,
        severity: 'error',
      }),
    );
    return { ok: false, problems };
  }
  const problems = checkTable(read.data);
  if (problems.some((problem) => problem.severity === 'error')) return { ok: false, problems };
  return { ok: true, table: read.data, problems };
}
