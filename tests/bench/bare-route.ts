/** The baseline for requests: a bare Fastify route that parses the same body and stores nothing. */
import Fastify from 'fastify';

const app = Fastify({ logger: false });
app.post('/api/v1/packets', async () => ({
  results: [{ status: 'stored', cursor: 1 }],
  postTime: '2026-01-01T00:00:00.000Z',
}));
await app.listen({ host: '127.0.0.1', port: 0 });
const address = app.server.address();
process.stdout.write(`http://127.0.0.1:${typeof address === 'object' && address !== null ? address.port : 0}\n`);
process.once('SIGTERM', () => process.exit(0));
