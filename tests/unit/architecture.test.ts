/** Which folder may know which, and that what is folded depends on nothing but the journal. */
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
type Source = { readonly file: string; readonly lines: readonly string[] };

function sources(folder: string): Source[] {
  return readdirSync(join(ROOT, folder), { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && /\.(ts|tsx|mjs|js)$/.test(entry.name))
    .map((entry) => {
      const path = join(entry.parentPath, entry.name);
      return { file: relative(ROOT, path).split(sep).join('/'), lines: withoutComments(readFileSync(path, 'utf8')) };
    });
}

/** The lines with comments blanked out, so that what they say is not taken for what is done. */
function withoutComments(text: string): string[] {
  const blank = (comment: string) => comment.replace(/[^\n]/g, ' ');
  return text
    .replace(/\/\*[\s\S]*?\*\//g, blank)
    .split('\n')
    .map((line) => line.replace(/(^|\s)\/\/.*$/, ''));
}

/** Offences as "file:line what". */
function find(all: readonly Source[], offence: (line: string, file: string) => string | null): string[] {
  return all.flatMap(({ file, lines }) =>
    lines.flatMap((line, index) => {
      const what = offence(line, file);
      return what === null ? [] : [`${file}:${index + 1} ${what}`];
    }),
  );
}

const IMPORT = /(?:\bfrom|\bimport|\brequire\()\s*\(?\s*['"]([^'"]+)['"]/;

/** Imports that leave `file` for a forbidden folder of ours, or for a package that `forbidden` names. */
function importsOf(line: string, file: string, folders: readonly string[], packages: RegExp): string | null {
  const target = IMPORT.exec(line)?.[1];
  if (target === undefined) return null;
  if (!target.startsWith('.')) return packages.test(target) ? `imports ${target}` : null;
  const path = relative(ROOT, resolve(ROOT, dirname(file), target))
    .split(sep)
    .join('/');
  return folders.some((folder) => path.startsWith(`${folder}/`)) ? `imports ${path}` : null;
}

const shared = sources('shared');
const server = sources('server');
const web = sources('web');
const NODE = /^(node:|fs$|path$|crypto$|os$|http$|better-sqlite3|fastify|ws$)/;

describe('imports go one way', () => {
  test('there is something to look at', () => {
    expect(Math.min(shared.length, server.length, web.length)).toBeGreaterThan(10);
  });
  test('shared knows neither server nor web, nor Node', () => {
    expect(find(shared, (line, file) => importsOf(line, file, ['server', 'web', 'tests'], NODE))).toEqual([]);
  });
  test('web knows no server, nor Node', () => {
    const offences = find(web, (line, file) => importsOf(line, file, ['server', 'tests'], NODE));
    expect(offences.filter((one) => !one.startsWith('web/vite.config.ts'))).toEqual([]);
  });
  test('server knows no web, and nothing of the program knows the tests', () => {
    expect(find(server, (line, file) => importsOf(line, file, ['web', 'tests'], /^$/))).toEqual([]);
  });
});

describe('what is folded depends on the journal alone', () => {
  const UNSTEADY =
    /\bDate\.now\b|\bnew Date\(\s*\)|\bDate\(\s*\)|\bperformance\b|\bMath\.random\b|\bcrypto\b|\brandomUUID\b|\bset(Timeout|Interval|Immediate)\b|\bqueueMicrotask\b|\bprocess\b|\bconsole\b|\bglobalThis\b|\bIntl\b|\btoLocale\w*|\blocaleCompare\b|\bfetch\(/;
  test('shared reads no clock, no randomness, no environment and no locale', () => {
    expect(find(shared, (line) => UNSTEADY.exec(line)?.[0] ?? null)).toEqual([]);
  });
  test.each([
    'const now = Date.now();',
    'const now = new Date();',
    'const x = Math.random();',
    'setTimeout(run, 5);',
    'console.log(1);',
    'if (process.env.X) {}',
    'names.sort((a, b) => a.localeCompare(b));',
  ])('%s would be found', (line) => {
    expect(find([{ file: 'shared/x.ts', lines: ['', line] }], (text) => UNSTEADY.exec(text)?.[0] ?? null)).toEqual([
      expect.stringMatching(/^shared\/x\.ts:2 /),
    ]);
  });
  test.each([
    ["import { a } from '../../server/config.ts';", 'shared/incident/x.ts'],
    ["export * from '../../web/main.tsx';", 'shared/incident/x.ts'],
    ["const a = await import('../../server/config.ts');", 'shared/incident/x.ts'],
    ["import { readFileSync } from 'node:fs';", 'shared/incident/x.ts'],
  ])('%s would be found', (line, file) => {
    expect(importsOf(line, file, ['server', 'web', 'tests'], NODE)).not.toBeNull();
  });
});

describe('the environment', () => {
  test('is looked at by config.ts, and by what starts the program before it is built', () => {
    const offences = find([...server, ...web, ...shared], (line) =>
      /\bprocess\.env\b/.test(line) ? 'process.env' : null,
    );
    expect(offences.filter((one) => !/^server\/(config\.ts|boot\/[\w-]+\.mjs):/.test(one))).toEqual([]);
  });
});
