/**
 * The document served at /api/v1/openapi.json: its schemas are compiled and tried by Ajv, a general JSON Schema
 * validator (draft 2020-12, the dialect of OpenAPI 3.1), against what the server really sends.
 */
import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js';
import { beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { openSocket, type RunningPost, runServer, send } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';

const operation = z.object({
  summary: z.string().min(1),
  parameters: z
    .array(
      z.object({
        name: z.string(),
        in: z.enum(['path', 'query', 'header', 'cookie']),
        required: z.boolean().optional(),
        schema: z.looseObject({}),
      }),
    )
    .optional(),
  requestBody: z
    .object({
      required: z.boolean().optional(),
      content: z.record(
        z.string(),
        z.looseObject({
          schema: z.looseObject({}),
          examples: z.record(z.string(), z.object({ value: z.unknown() })).optional(),
        }),
      ),
    })
    .optional(),
  responses: z.record(z.string().regex(/^[1-5]\d\d$/), z.looseObject({ description: z.string().min(1) })),
});
const methods = z.record(z.enum(['get', 'post', 'delete', 'put', 'patch']).or(z.string()), operation);
/** What OpenAPI 3.1.0 requires of a document, as far as this one uses it (OAI specification 3.1.0, section 4.8). */
const document = z.object({
  openapi: z.string().regex(/^3\.1\.\d+$/),
  info: z.looseObject({ title: z.string(), version: z.string() }),
  paths: z.record(z.string().regex(/^\//), methods),
  components: z.looseObject({
    schemas: z.record(z.string().regex(/^[A-Za-z0-9._-]+$/), z.looseObject({})),
    securitySchemes: z.record(z.string(), z.looseObject({ type: z.string() })),
  }),
});

let post: RunningPost;
let token: string;
let viewer: string;
let doc: z.infer<typeof document>;
let schemas: Map<string, ValidateFunction>;
beforeAll(async () => {
  post = await runServer();
  [token, viewer] = await Promise.all([post.token('R1'), post.viewerToken()]);
  const answer = await send(post, 'GET', '/api/v1/openapi.json');
  expect(answer.status).toBe(200);
  doc = document.parse(answer.body);
  const ajv = new Ajv2020({ strict: false, validateFormats: false, allErrors: true });
  schemas = new Map(Object.entries(doc.components.schemas).map(([name, schema]) => [name, ajv.compile(schema)]));
});

function expectValid(name: string, value: unknown): void {
  const validate = schemas.get(name);
  if (validate === undefined) throw new Error(`no schema ${name}`);
  validate(value);
  expect([name, validate.errors ?? []]).toEqual([name, []]);
}

describe('the OpenAPI document', () => {
  it('refers to nothing that is not in it, and declares the parameters of its paths', () => {
    const refs = [...JSON.stringify(doc).matchAll(/"\$ref":"([^"]+)"/g)].map(([, ref]) => ref);
    for (const ref of refs)
      expect(Object.keys(doc.components.schemas).map((name) => `#/components/schemas/${name}`)).toContain(ref);
    for (const [path, operations] of Object.entries(doc.paths)) {
      const named = [...path.matchAll(/\{(\w+)\}/g)].map(([, name]) => name);
      for (const { parameters = [] } of Object.values(operations)) {
        expect(
          parameters.filter((parameter) => parameter.in === 'path').map(({ name, required }) => [name, required]),
        ).toEqual(named.map((name) => [name, true]));
      }
    }
  });

  it('has examples that its own schemas accept and the server takes', async () => {
    const content = doc.paths['/api/v1/packets']?.['post']?.requestBody?.content['application/json'];
    const examples = Object.values(content?.examples ?? {}).map(({ value }) => value);
    expect(examples.length).toBeGreaterThan(0);
    for (const example of examples) {
      for (const packet of Array.isArray(example) ? example : [example]) expectValid('Packet', packet);
      const answer = await postPackets(post, token, example);
      expect(answer.status).toBe(200);
      expect(JSON.stringify(answer.body)).not.toMatch(/rejected|warnings/);
    }
  });

  it('describes what is really sent', async () => {
    const headers = { authorization: `Bearer ${viewer}` };
    const screen = await openSocket(post, '/api/v1/live', headers);
    const bad = sample('O-1', 2, {
      readings: { co: { value: 3 }, h2s: { flag: 'fault' }, o2: { value: 15, unit: '%vol' } },
      status: { help: true, battery: 400 },
    });
    const answer = await postPackets(post, token, [
      sample('O-1', 1, { position: { lat: 1, lon: 2 } }),
      bad,
      bad,
      {},
      sample('O-1', 1, { readings: {} }),
    ]);
    expectValid('PacketsAnswer', answer.body);
    expectValid('Board', (await send(post, 'GET', '/api/v1/board', { headers })).body);
    expectValid('History', (await send(post, 'GET', '/api/v1/monitors/O-1/history', { headers })).body);
    expectValid('MonitorPackets', (await send(post, 'GET', '/api/v1/monitors/O-1/packets', { headers })).body);
    const officer = await post.staff('officer');
    const command = { id: 'c', type: 'note', text: 'x' };
    expectValid('CommandRequest', command);
    expectValid('CommandAnswer', (await officer.send('POST', '/api/v1/commands', command)).body);
    await screen.next((frame) => (z.object({ type: z.literal('heartbeat') }).safeParse(frame).success ? frame : null));
    expect(new Set(screen.frames.map((frame) => z.object({ type: z.string() }).parse(frame).type))).toEqual(
      new Set(['snapshot', 'delta', 'event', 'heartbeat']),
    );
    for (const frame of screen.frames) expectValid('LiveFrame', frame);
    screen.socket.close();
  });

  it('refuses what the server refuses', () => {
    const packet = schemas.get('Packet');
    for (const bad of [
      null,
      1,
      {},
      sample('', 1),
      { ...sample('A', 1), seq: -1 },
      { ...sample('A', 1), seq: 1.5 },
      { ...sample('A', 1), monitor: 7 },
    ]) {
      expect([bad, packet?.(bad)]).toEqual([bad, false]);
    }
  });
});

describe('health and figures', () => {
  it('need no login on this machine', async () => {
    expect(await send(post, 'GET', '/healthz')).toMatchObject({ status: 200, body: { recording: true } });
    const metrics = await send(post, 'GET', '/metrics');
    expect(metrics.status).toBe(200);
    expect(metrics.headers.get('content-type')).toMatch(/^text\/plain; version=0\.0\.4/);
    const text = z.string().parse(metrics.body);
    // Prometheus text format 0.0.4: each line is a comment or a name with a number.
    for (const line of text.trimEnd().split('\n'))
      expect(line).toMatch(/^(# (HELP|TYPE) \w+ .+|\w+(\{.*\})? -?\d+(\.\d+)?(e[+-]?\d+)?)$/);
    expect(text).toMatch(/^upwind_recording 1$/m);
  });

  it('beyond this machine the figures need a token that looks', async () => {
    const open = await runServer({ env: { HOST: '0.0.0.0', ALLOW_PLAIN_HTTP: '1' } });
    const of = { url: open.url.replace('0.0.0.0', '127.0.0.1') };
    const [relay, reader] = await Promise.all([open.token('R1'), open.viewerToken()]);
    const ask = async (headers: Record<string, string>) => (await send(of, 'GET', '/metrics', { headers })).status;
    expect(await ask({})).toBe(401);
    expect(await ask({ authorization: `Bearer ${relay}` })).toBe(401);
    expect(await ask({ authorization: `Bearer ${reader}` })).toBe(200);
    expect((await send(of, 'GET', '/healthz')).status).toBe(200);
  });
});
