/** The documents are held against the code: what they show is run, what they name exists. */
import { existsSync, readdirSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { schemaDocument } from '../../server/live/schema-document.ts';
import { DEFAULT_TABLE } from '../../shared/alarm/default-table.ts';
import { setPointWords } from '../../shared/incident/levels.ts';
import { liveFrame, relayAnswer, relayFrame, screenMessage } from '../../shared/protocol/frames.ts';
import { packet, packetsAnswer, rejectionCode, warningCode } from '../../shared/protocol/packet.ts';
import { readPacket } from '../../shared/protocol/read-packet.ts';
import { UNITS } from '../../shared/quantity/channels.ts';
import { type Example, examplesOf, pairsOf, readDocument } from '../support/doc-examples.ts';

const named = z.record(z.string(), z.string());
const manifest = z.object({ scripts: named, dependencies: named, devDependencies: named });
const ROOT = new URL('../../', import.meta.url);
const DECISIONS = readdirSync(new URL('docs/decisions/', ROOT)).map((name) => `docs/decisions/${name}`);
const DOCUMENTS = [
  'README.md',
  'DEVELOPERS.md',
  'docs/protocol.md',
  'docs/operating.md',
  'docs/cautions.md',
  ...DECISIONS,
];
const examples = examplesOf('docs/protocol.md');
/** The clock of the post in the examples. */
const POST_WALL_MS = Date.UTC(2026, 4, 14, 13, 5);

function parsed(example: Example): unknown {
  try {
    return JSON.parse(example.text);
  } catch (error) {
    throw new Error(`docs/protocol.md:${example.line}: ${error instanceof Error ? error.message : 'no JSON'}`);
  }
}

function shaped<T>(schema: z.ZodType<T>, example: Example): T {
  const found = schema.safeParse(parsed(example));
  if (!found.success) throw new Error(`docs/protocol.md:${example.line}: ${found.error.message}`);
  return found.data;
}

describe('docs/protocol-schema.json', () => {
  it('is what the code generates; if not, run "npm run schemas"', () => {
    expect(readDocument('docs/protocol-schema.json')).toBe(schemaDocument());
  });

  it('is a JSON Schema that takes the packets of docs/protocol.md and refuses one without seq', () => {
    const ajv = new Ajv2020({ strict: false, validateFormats: false });
    ajv.addSchema(JSON.parse(schemaDocument()), 'protocol');
    const check = ajv.compile({ $ref: 'protocol#/$defs/Packet' });
    const whole = examples
      .filter((example) => example.kind === 'packet')
      .flatMap((example) => [parsed(example)].flat());
    const taken = whole.filter((raw) => packet.safeParse(raw).success);
    expect(taken.length).toBeGreaterThan(5);
    for (const raw of taken) expect(check(raw), JSON.stringify(check.errors)).toBe(true);
    expect(check({ monitor: 'M-07', boot: 'b3f1' })).toBe(false);
  });
});

describe('examples of docs/protocol.md', () => {
  it('are all of a kind that is run', () => {
    const kinds = new Set(examples.filter((e) => e.language === 'json').map((e) => e.kind));
    expect([...kinds].sort()).toEqual(
      [
        'answer',
        'answer-of-run',
        'live-frame',
        'packet',
        'refusal',
        'relay-answer',
        'relay-frame',
        'screen-message',
      ].sort(),
    );
  });

  it('packets are read with the warnings and refusals that their answers show', () => {
    const pairs = pairsOf(examples, 'packet', 'answer');
    expect(pairs.length).toBeGreaterThan(5);
    for (const [sent, answer] of pairs) {
      const packets = [parsed(sent)].flat();
      const { results } = shaped(packetsAnswer, answer);
      expect(results, `line ${answer.line}`).toHaveLength(packets.length);
      for (const [i, raw] of packets.entries()) {
        const read = readPacket(raw, POST_WALL_MS);
        const result = results[i];
        const where = `docs/protocol.md:${sent.line}, packet ${i + 1}`;
        if (!read.ok) expect(result, where).toEqual({ status: 'rejected', error: read.error });
        else if (result?.error?.code !== 'conflict') {
          expect(result?.status, where).not.toBe('rejected');
          expect(result?.warnings ?? [], where).toEqual(read.warnings);
        }
      }
    }
  });

  it('frames and answers have the shapes of the schema', () => {
    for (const example of examples) {
      if (example.kind === 'relay-answer') shaped(relayAnswer, example);
      else if (example.kind === 'live-frame') shaped(liveFrame, example);
      else if (example.kind === 'screen-message') shaped(screenMessage, example);
      else if (example.kind === 'answer-of-run') shaped(packetsAnswer, example);
      else if (example.kind === 'relay-frame')
        expect(relayFrame.safeParse(parsed(example)).success).toBe(example.detail !== 'bad');
    }
  });
});

describe('docs/protocol.md names', () => {
  const text = readDocument('docs/protocol.md');

  it('every code of a result, a warning and a refusal', () => {
    const codes = new Set<string>([...warningCode.options, ...rejectionCode.options, ...notRecordableCodes()]);
    const take = (text: string, rule: RegExp) => {
      for (const [, code] of text.matchAll(rule)) if (code !== undefined) codes.add(code);
    };
    for (const file of ['server/app.ts', 'server/ingest/routes.ts', 'server/access/require-act.ts', ...routeFiles()]) {
      const text = readDocument(file);
      take(text, /\b[45]\d\d, '([a-z-]+)'/g);
      take(text, /refuse\((?:null|id), '([a-z-]+)'/g);
      take(text, /\bcode: '([a-z-]+)'/g);
      take((/const code = .*/.exec(text) ?? [''])[0], /'([a-z-]+)'/g);
    }
    const table = text.split('\n').filter((line) => line.startsWith('| '));
    expect([...codes].filter((code) => !table.some((line) => line.includes(`\`${code}\``)))).toEqual([]);
    expect(codes.size).toBeGreaterThan(22);
  });

  it('every unit', () => {
    expect(UNITS.filter((unit) => !text.includes(`\`${unit}\``))).toEqual([]);
  });
});

/** Why nothing was recorded: the union type in the code, which has no values to list. */
function notRecordableCodes(): string[] {
  const union = /type NotRecordableCode = ([^;]+);/.exec(readDocument('server/journal/not-recordable.ts'))?.[1] ?? '';
  return [...union.matchAll(/'([a-z-]+)'/g)].map((match) => match[1] ?? '');
}

function routeFiles(): string[] {
  const names = readdirSync(new URL('server/live/', ROOT)).filter((name) => /routes?\.ts$/.test(name));
  return names.map((name) => `server/live/${name}`);
}

describe('docs/cautions.md', () => {
  it('shows the default set-points as they are, with sources and tags', () => {
    const rows = readDocument('docs/cautions.md')
      .split('\n')
      .filter((line) => /^\| `[a-z0-9-]+` \|/.test(line));
    const wanted = DEFAULT_TABLE.setPoints.map(
      (point) =>
        `| \`${point.id}\` | ${setPointWords(point)} | ${point.priority} | ${point.source} | ${point.sourceTag} |`,
    );
    expect(rows).toEqual(wanted);
  });
});

describe('every document', () => {
  const known = new Set(Object.keys(manifest.parse(JSON.parse(readDocument('package.json'))).scripts));
  const commands = new Set(
    [...readDocument('server/cli/main.ts').matchAll(/^ {2}([a-z]+): (?:\{|notBuilt)/gm)].map((match) => match[1] ?? ''),
  );

  it('links to files that exist', () => {
    const broken: string[] = [];
    for (const path of DOCUMENTS) {
      for (const [, target = ''] of readDocument(path).matchAll(/\]\(([^)\s#]+)(?:#[^)]*)?\)/g)) {
        if (/^https?:/.test(target)) continue;
        if (!existsSync(new URL(target, new URL(path, ROOT)))) broken.push(`${path}: ${target}`);
      }
    }
    expect(broken.filter((line) => !line.endsWith('board.png'))).toEqual([]);
  });

  it('names commands that exist', () => {
    expect(commands.size).toBeGreaterThan(5);
    const stale: string[] = [];
    for (const path of DOCUMENTS) {
      const text = readDocument(path);
      for (const [, name = ''] of text.matchAll(/npm run ([a-z:-]+)/g))
        if (!known.has(name)) stale.push(`${path}: npm run ${name}`);
      for (const [, name = ''] of text.matchAll(/`(?:npx )?upwind (?!journal 1)([a-z]+)/g))
        if (!commands.has(name)) stale.push(`${path}: upwind ${name}`);
      for (const [, name = ''] of text.matchAll(/npx upwind ([a-z]+)/g))
        if (!commands.has(name)) stale.push(`${path}: upwind ${name}`);
    }
    expect(stale).toEqual([]);
  });

  it('names tests, folders and files that exist', () => {
    const missing: string[] = [];
    for (const path of DOCUMENTS) {
      for (const [, file = ''] of readDocument(path).matchAll(
        /`((?:tests|server|shared|web|seed-data|docs)\/[a-z0-9./_-]*)`/g,
      )) {
        if (file !== 'docs/board.png' && !existsSync(new URL(file, ROOT))) missing.push(`${path}: ${file}`);
      }
    }
    expect(missing).toEqual([]);
  });

  it('names every setting of the server in docs/operating.md, and no other', () => {
    const settings = [...readDocument('server/config.ts').matchAll(/^ {2}([A-Z][A-Z_]+): /gm)].map((match) => match[1]);
    const rows = [...readDocument('docs/operating.md').matchAll(/^\| `([A-Z][A-Z_]+)` \|/gm)].map((match) => match[1]);
    expect(settings.length).toBeGreaterThan(7);
    expect(rows.sort()).toEqual(settings.sort());
  });

  it('names every dependency in DEVELOPERS.md, and no other', () => {
    const { dependencies, devDependencies } = manifest.parse(JSON.parse(readDocument('package.json')));
    const text = readDocument('DEVELOPERS.md').split('## Dependencies')[1] ?? '';
    const rows = text.split('\n').filter((line) => line.startsWith('| `'));
    const listed = rows.flatMap((line) =>
      [...(line.split('|')[1] ?? '').matchAll(/`([^`]+)`/g)].map((match) => match[1]),
    );
    expect(listed.sort()).toEqual([...Object.keys(dependencies), ...Object.keys(devDependencies)].sort());
  });

  it('lists every decision', () => {
    const list = readDocument('docs/decisions/README.md');
    expect(
      DECISIONS.filter(
        (path) => !path.endsWith('README.md') && !list.includes(`(${path.slice('docs/decisions/'.length)})`),
      ),
    ).toEqual([]);
  });
});
