/** Takes a table in from a file. It becomes the draft; what is wrong with it is said, and can be mended there. */
import { useId } from 'preact/hooks';
import type { TableProblem } from '../../shared/alarm/check-table.ts';
import type { SetPointTable } from '../../shared/alarm/set-point.ts';
import type { Outcome } from '../desk/outcome-words.ts';
import { type Draft, draftOf } from './draft.ts';
import { readImport } from './table-file.ts';

export type ImportSaid = {
  readonly outcome: Outcome;
  /** Only where the file is no table: a draft says its own. */
  readonly problems: readonly TableProblem[];
  readonly points: readonly { readonly id: string; readonly channel: string }[];
};

type Props = {
  table: SetPointTable;
  /** A draft with changes is there already. */
  replaces: boolean;
  taken: (draft: Draft | null, said: ImportSaid) => void;
};

export function ImportFile({ table, replaces, taken }: Props) {
  const id = useId();
  async function read(input: HTMLInputElement): Promise<void> {
    const file = input.files?.[0];
    if (file === undefined) return;
    const text = await file.text().catch(() => '');
    input.value = ''; // the same file, mended, can be chosen again
    const { table: found, problems } = readImport(text);
    if (found === null) {
      const outcome = {
        level: 'caution',
        words: `“${file.name}” is no table of set-points. Nothing was taken.`,
      } as const;
      taken(null, { outcome, problems, points: [] });
      return;
    }
    const errors = problems.filter((problem) => problem.severity === 'error').length;
    const words = `“${file.name}” is in the draft, ${found.setPoints.length} set-points. Nothing is in force yet.`;
    const outcome = { level: errors > 0 ? 'caution' : 'plain', words } as const;
    taken(draftOf(found, table), { outcome, problems: [], points: [] });
  }
  return (
    <div class="sp-import">
      <label class="button" for={id}>
        {replaces ? 'Import a file in place of this draft' : 'Import a file'}
      </label>
      <input
        id={id}
        class="unseen"
        type="file"
        accept=".json,application/json"
        onChange={(event) => void read(event.currentTarget)}
      />
    </div>
  );
}
