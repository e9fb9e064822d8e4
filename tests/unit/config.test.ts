import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { isLoopback, readConfig } from '../../server/config.ts';

const folder = mkdtempSync(join(tmpdir(), 'upwind-config-'));
const pem = join(folder, 'pem');
writeFileSync(pem, 'not looked into');
afterAll(() => rmSync(folder, { recursive: true }));

function problems(env: Record<string, string>): readonly string[] {
  const read = readConfig({ demo: false }, env);
  return read.ok ? [] : read.problems;
}

describe('settings', () => {
  it('stand by themselves: this machine alone, port 8080, ./data', () => {
    const read = readConfig({ demo: false }, {});
    expect(read).toEqual({
      ok: true,
      config: {
        host: '127.0.0.1',
        port: 8080,
        dataDir: resolve('data'),
        tls: null,
        loopback: true,
        allowedOrigins: [],
        logLevel: 'info',
        commitWindowMs: 2,
      },
    });
    expect(read.ok && Object.isFrozen(read.config)).toBe(true);
  });

  it('give the demonstration its own folder, unless one is named', () => {
    const folderOf = (env: Record<string, string>) => {
      const read = readConfig({ demo: true }, env);
      return read.ok && read.config.dataDir;
    };
    expect(folderOf({})).toBe(resolve('data-demo'));
    expect(folderOf({ DATA_DIR: folder })).toBe(folder);
  });

  it('name every problem, one line each', () => {
    const found = problems({
      PORT: '70000',
      LOG_LEVEL: 'loud',
      HOST: '0.0.0.0',
      COMMIT_WINDOW_MS: '-1',
      TLS_KEY: pem,
    });
    expect(found.map((text) => text.split(':')[0])).toEqual([
      'PORT',
      'LOG_LEVEL',
      'COMMIT_WINDOW_MS',
      'TLS_CERT, TLS_KEY',
    ]);
    expect(found.join('')).not.toContain('\n');
  });

  it('take an empty value as an absent one', () => {
    expect(problems({ PORT: '', HOST: '', TLS_CERT: '' })).toEqual([]);
  });

  it('do not serve other machines in the clear unless that was asked for', () => {
    for (const HOST of ['0.0.0.0', '::', '192.0.2.7', 'post.example']) {
      expect(problems({ HOST })).toHaveLength(1);
      expect(problems({ HOST, ALLOW_PLAIN_HTTP: '0' })).toHaveLength(1);
      expect(problems({ HOST, ALLOW_PLAIN_HTTP: '1' })).toEqual([]);
      expect(problems({ HOST, TLS_CERT: pem, TLS_KEY: pem })).toEqual([]);
    }
    expect(problems({ TLS_CERT: join(folder, 'absent'), TLS_KEY: pem })).toHaveLength(1);
  });

  it('list origins exactly', () => {
    expect(problems({ ALLOWED_ORIGINS: 'https://post.example, http://10.0.0.2:8080' })).toEqual([]);
    for (const bad of ['*', 'post.example', 'https://post.example/', 'ftp://post.example']) {
      expect(problems({ ALLOWED_ORIGINS: bad })).toHaveLength(1);
    }
  });
});

describe('loopback', () => {
  // RFC 1122 3.2.1.3(g) and RFC 4291 2.5.3.
  it.each(['127.0.0.1', '127.255.255.254', '::1', 'localhost', 'LOCALHOST'])('%s is', (host) =>
    expect(isLoopback(host)).toBe(true),
  );
  it.each(['0.0.0.0', '::', '128.0.0.1', '127.0.0.1.example', 'localhost.example', '10.127.0.1'])(
    '%s is not',
    (host) => {
      expect(isLoopback(host)).toBe(false);
    },
  );
});
