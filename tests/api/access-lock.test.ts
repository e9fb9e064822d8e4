import { once } from 'node:events';
import { existsSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { takeLock } from '../../server/store/lock.ts';
import { openPostDatabase } from '../../server/store/post-database.ts';
import { buildProgram, dataFolder, startNode } from './access-program.ts';

let lock: Awaited<ReturnType<typeof buildProgram>>;
beforeAll(async () => {
  lock = await buildProgram('server/store/lock.ts');
});
afterAll(() => lock.remove());

describe('the lock on a data folder', () => {
  it('is held by one process, says which, and is free the moment that process is killed', async () => {
    const folder = dataFolder();
    const code = `import(${JSON.stringify(lock.file)}).then((m) => { console.log(m.takeLock(process.argv[1]).ok); setInterval(() => {}, 1e6); })`;
    const child = startNode(['-e', code, folder]);
    const [said] = child.stdout ? await once(child.stdout, 'data') : [''];
    expect(String(said).trim()).toBe('true');
    const refused = takeLock(folder);
    expect(refused).toMatchObject({
      ok: false,
      code: 'held',
      message: expect.stringContaining(`(process ${child.pid})`),
    });
    child.kill('SIGKILL');
    await once(child, 'close');
    const taken = takeLock(folder);
    expect(taken.ok).toBe(true);
    if (taken.ok) taken.lock.release();
  });

  it('is held once within a process too, and can be given back twice', () => {
    const folder = join(dataFolder(), 'new', 'folder');
    const one = takeLock(folder);
    if (!one.ok) throw new Error(one.message);
    expect(statSync(folder).mode & 0o777).toBe(0o700);
    expect(takeLock(folder).ok).toBe(false);
    one.lock.release();
    one.lock.release();
    const two = takeLock(folder);
    expect(two.ok).toBe(true);
    if (two.ok) two.lock.release();
  });

  it('cannot be taken where nothing can be written', () => {
    const file = join(dataFolder(), 'file');
    writeFileSync(file, '');
    expect(() => takeLock(join(file, 'below'))).toThrow();
  });
});

describe('post.db', () => {
  it('is private, durable and opened again as it was', () => {
    const folder = dataFolder();
    const db = openPostDatabase(folder);
    db.prepare("INSERT INTO setting (key, value) VALUES ('a', '1')").run();
    expect(statSync(join(folder, 'post.db')).mode & 0o777).toBe(0o600);
    expect(existsSync(join(folder, 'post.db-wal')) && statSync(join(folder, 'post.db-wal')).mode & 0o777).toBe(0o600);
    expect(db.pragma('synchronous', { simple: true })).toBe(2);
    expect(() => db.prepare("INSERT INTO setting (key, value) VALUES ('b', 'no json')").run()).toThrow('CHECK');
    expect(() => db.prepare("INSERT INTO account VALUES (1, 'R', 'relay', '', 0, 0)").run()).toThrow('CHECK');
    db.close();
    const again = openPostDatabase(folder);
    expect(again.prepare('SELECT value FROM setting').pluck().all()).toEqual(['1']);
    again.close();
  });
});
