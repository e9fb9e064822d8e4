/** The environment, read and checked once: the only file of the server that looks at process.env. */
import { accessSync, constants } from 'node:fs';
import { isIPv4 } from 'node:net';
import { resolve } from 'node:path';
import { z } from 'zod';

/** Exit code for a bad setting (EX_CONFIG of sysexits.h). */
export const EXIT_BAD_CONFIG = 78;

export type Config = Readonly<{
  host: string;
  /** 0 takes any free port. */
  port: number;
  /** Absolute path. */
  dataDir: string;
  /** Files in PEM; null where the post speaks plain HTTP. */
  tls: Readonly<{ certFile: string; keyFile: string }> | null;
  /** Whether HOST can be reached from this machine alone. */
  loopback: boolean;
  /** Further origins that may act, for a proxy in front: exact, such as `https://post.example`. */
  allowedOrigins: readonly string[];
  logLevel: LogLevel;
  /** How long a commit waits for more packets to share its sync. */
  commitWindowMs: number;
}>;
export type ConfigAnswer = { ok: true; config: Config } | { ok: false; problems: readonly string[] };

const logLevel = z.enum(['fatal', 'error', 'warn', 'info', 'debug', 'trace', 'silent']);
export type LogLevel = z.infer<typeof logLevel>;

const wholeNumber = (least: number, most: number) =>
  z
    .string()
    .regex(/^\d{1,9}$/, 'must be a whole number')
    .transform(Number)
    .pipe(z.number().min(least, `must be at least ${least}`).max(most, `must be at most ${most}`));

const origins = z
  .string()
  .transform((text) => text.split(',').map((part) => part.trim()))
  .pipe(z.array(z.string().refine(isOrigin, 'must be origins such as https://post.example, separated by commas')));

const environment = z.object({
  HOST: z
    .string()
    .regex(/^[A-Za-z0-9.:_%-]+$/, 'must be an address or a host name')
    .default('127.0.0.1'),
  PORT: wholeNumber(0, 65_535).default(8080),
  DATA_DIR: z.string().optional(),
  ALLOW_PLAIN_HTTP: z.enum(['0', '1'], { error: 'must be 1 or 0' }).default('0'),
  TLS_CERT: z.string().refine(isReadable, 'cannot be read').optional(),
  TLS_KEY: z.string().refine(isReadable, 'cannot be read').optional(),
  ALLOWED_ORIGINS: origins.default([]),
  LOG_LEVEL: logLevel.default('info'),
  COMMIT_WINDOW_MS: wholeNumber(0, 1000).default(2),
});

/** Settings of `env` (an empty value counts as absent), or every problem as one line each. Frozen. */
export function readConfig(options: { demo: boolean }, env: NodeJS.ProcessEnv = process.env): ConfigAnswer {
  const given = withoutEmpty(env);
  const found = environment.safeParse(given);
  const problems = [...(found.error?.issues ?? []).map((issue) => line(issue, env)), ...togetherProblems(given)];
  if (!found.success || problems.length > 0) return { ok: false, problems };
  const e = found.data;
  const tls = e.TLS_CERT && e.TLS_KEY ? Object.freeze({ certFile: e.TLS_CERT, keyFile: e.TLS_KEY }) : null;
  const config = {
    host: e.HOST,
    port: e.PORT,
    dataDir: readDataDir(options, env),
    tls,
    loopback: isLoopback(e.HOST),
    allowedOrigins: Object.freeze(e.ALLOWED_ORIGINS),
    logLevel: e.LOG_LEVEL,
    commitWindowMs: e.COMMIT_WINDOW_MS,
  };
  return { ok: true, config: Object.freeze(config) };
}

/** The data folder as an absolute path: all that the commands for accounts and tokens need. */
export function readDataDir(options: { demo: boolean }, env: NodeJS.ProcessEnv = process.env): string {
  return resolve(env.DATA_DIR || (options.demo ? './data-demo' : './data'));
}

/** Whether `host` names this machine alone: 127.0.0.0/8 (RFC 1122 3.2.1.3), ::1 (RFC 4291 2.5.3) or localhost. */
export function isLoopback(host: string): boolean {
  if (isIPv4(host)) return host.startsWith('127.');
  return host === '::1' || host.toLowerCase() === 'localhost';
}

/** What no setting tells alone: passphrases and tokens must not leave this machine in the clear unless that was asked for. */
function togetherProblems(given: Readonly<Record<string, string>>): string[] {
  const { HOST: host = '127.0.0.1', TLS_CERT: cert, TLS_KEY: key, ALLOW_PLAIN_HTTP: plain } = given;
  const problems =
    (cert === undefined) === (key === undefined) ? [] : ['TLS_CERT, TLS_KEY: both are needed, or neither'];
  if (!isLoopback(host) && cert === undefined && key === undefined && plain !== '1') {
    const ways = 'TLS_CERT and TLS_KEY, or ALLOW_PLAIN_HTTP=1 where the network itself is trusted';
    problems.push(`HOST: ${JSON.stringify(host)} can be reached from other machines: set ${ways}`);
  }
  return problems;
}

function isOrigin(text: string): boolean {
  return URL.canParse(text) && /^https?:$/.test(new URL(text).protocol) && new URL(text).origin === text;
}

function isReadable(file: string): boolean {
  try {
    accessSync(file, constants.R_OK);
    return true;
  } catch {
    return false;
  }
}

function withoutEmpty(env: NodeJS.ProcessEnv): Record<string, string> {
  const given: Record<string, string> = {};
  for (const key of Object.keys(environment.shape)) {
    const value = env[key];
    if (value !== undefined && value !== '') given[key] = value;
  }
  return given;
}

function line(issue: z.core.$ZodIssue, env: NodeJS.ProcessEnv): string {
  const key = String(issue.path[0]);
  return `${key}: ${JSON.stringify(env[key])}: ${issue.message}`;
}
