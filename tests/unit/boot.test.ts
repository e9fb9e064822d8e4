import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const file = new URL('../../server/boot/node-version.mjs', import.meta.url).href;
const upwind = fileURLToPath(new URL('../../server/boot/upwind.mjs', import.meta.url));

function why(version: string): string {
  const code = `import(${JSON.stringify(file)}).then((m) => console.log(m.whyTooOld(${JSON.stringify(version)})))`;
  return spawnSync(process.execPath, ['-e', code], { encoding: 'utf8' }).stdout.trim();
}

describe('an old Node', () => {
  it.each(['20.19.0', '20.20.2', '22.0.0', '24.1.0', '100.0.0'])('is not %s', (version) =>
    expect(why(version)).toBe('null'),
  );
  it.each(['20.18.9', '18.20.0', '9.0.0'])('is %s, and that is said in one line', (version) => {
    expect(why(version)).toBe(`upwind: Node 20.19 or newer is needed; this is ${version}`);
  });

  it('ends the command before anything newer is read', () => {
    const pretend = "data:text/javascript,Object.defineProperty(process.versions, 'node', { value: '18.20.0' })";
    const done = spawnSync(process.execPath, ['--import', pretend, upwind, '--version'], { encoding: 'utf8' });
    expect([done.status, done.stdout]).toEqual([1, '']);
    expect(done.stderr).toBe('upwind: Node 20.19 or newer is needed; this is 18.20.0\n');
  });
});
