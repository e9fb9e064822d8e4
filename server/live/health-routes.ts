/** Whether the post can record, and its figures for a local collector (Prometheus text format 0.0.4). */
import type { FastifyInstance } from 'fastify';
import { may } from '../../shared/protocol/access.ts';
import { refuse } from '../access/answers.ts';
import type { Post } from '../watch/post.ts';
import type { Hub } from './hub.ts';

export function registerHealth(app: FastifyInstance, deps: { post: Post; hub: Hub; loopback: boolean }): void {
  const { post, hub } = deps;
  app.get('/healthz', async (_request, reply) => {
    const recording = post.watch.isRecording();
    return reply.code(recording ? 200 : 503).send({ recording });
  });

  app.get('/metrics', async (request, reply) => {
    const allowed = deps.loopback || (request.identity !== null && may(request.identity.role, 'look'));
    if (!allowed) return refuse(reply, 401, 'unauthenticated', 'beyond this machine the figures need a viewer token');
    const state = post.watch.state();
    const waiting = [...state.alarms.values()].filter((alarm) => alarm.acknowledged === null).length;
    const memory = process.memoryUsage();
    const rows: [string, string, string, number][] = [
      ['upwind_recording', 'gauge', '1 while what comes in is on disk', post.watch.isRecording() ? 1 : 0],
      ['upwind_cursor', 'counter', 'Records in the current journal', state.cursor],
      ['upwind_monitors', 'gauge', 'Monitors heard of', state.monitors.size],
      [
        'upwind_monitors_silent',
        'gauge',
        'Monitors not heard now',
        [...state.monitors.values()].filter((m) => m.link !== 'live').length,
      ],
      ['upwind_alarms_waiting', 'gauge', 'Alarms that nobody has acknowledged', waiting],
      ['upwind_screens', 'gauge', 'Screens that are connected', hub.screens()],
      ['upwind_queue', 'gauge', 'Records that wait for a commit', post.watch.queued()],
      ['process_resident_memory_bytes', 'gauge', 'Resident memory', memory.rss],
      ['nodejs_heap_used_bytes', 'gauge', 'Heap in use', memory.heapUsed],
    ];
    const text = rows
      .map(([name, type, help, value]) => `# HELP ${name} ${help}\n# TYPE ${name} ${type}\n${name} ${value}\n`)
      .join('');
    return reply.type('text/plain; version=0.0.4; charset=utf-8').send(text);
  });
}
