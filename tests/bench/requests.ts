/** How many requests a second a server answers, from 64 connections of this process. */
import autocannon from 'autocannon';

export type Load = { readonly rate: number; readonly p99Ms: number; readonly failed: number };

/** Sends a fresh body with each request for `seconds`. */
export async function measureRequests(options: {
  url: string;
  token: string;
  seconds: number;
  connections: number;
  body: () => string;
}): Promise<Load> {
  const result = await autocannon({
    url: `${options.url}/api/v1/packets`,
    connections: options.connections,
    duration: options.seconds,
    requests: [
      {
        method: 'POST',
        headers: { 'content-type': 'application/json', authorization: `Bearer ${options.token}` },
        setupRequest: (request) => ({ ...request, body: options.body() }),
      },
    ],
  });
  return { rate: result.requests.average, p99Ms: result.latency.p99, failed: result.non2xx + result.errors };
}
