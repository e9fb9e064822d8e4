/** A table as a file: what is written, and what was found in one. */
import type { TableProblem } from '../../shared/alarm/check-table.ts';
import { type SetPointTable, setPointTable } from '../../shared/alarm/set-point.ts';
import { tableFromText, tableToText } from '../../shared/alarm/table-text.ts';
import { MAX_TABLE_BYTES } from '../../shared/protocol/set-points.ts';

export type ImportRead = {
  /** Null where it is no table at all; with errors it may be one that can be mended. */
  readonly table: SetPointTable | null;
  readonly problems: readonly TableProblem[];
};

/** Reads a file's text. Nothing of it is in force. */
export function readImport(text: string): ImportRead {
  if (text.length > MAX_TABLE_BYTES) return failed('too-large', 'The file is far too large for a table');
  const shape = shapeOf(text);
  const read = tableFromText(text);
  return { table: shape, problems: read.problems };
}

function failed(code: string, words: string): ImportRead {
  return { table: null, problems: [{ path: '', code, words, severity: 'error' }] };
}

function shapeOf(text: string): SetPointTable | null {
  try {
    return setPointTable.safeParse(JSON.parse(text)).data ?? null;
  } catch {
    return null;
  }
}

/** Name of the file that a table is written to: "set-points-starting-points-1.json". */
export function fileName(table: Pick<SetPointTable, 'name' | 'version'>): string {
  const name = table.name
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, '')
    .slice(0, 60);
  return `set-points-${name === '' ? 'table' : name}-${table.version}.json`;
}

/** Hands the table to the browser as a file. */
export function saveTable(table: SetPointTable): void {
  const url = URL.createObjectURL(new Blob([tableToText(table)], { type: 'application/json' }));
  const link = document.createElement('a');
  link.href = url;
  link.download = fileName(table);
  link.click();
  // The browser has taken it by then; without this the text stays in memory as long as the page.
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}
