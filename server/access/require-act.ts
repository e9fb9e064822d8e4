/** The hook that a route names to say what its caller must be allowed to do. */
import type { FastifyReply, FastifyRequest, HookHandlerDoneFunction } from 'fastify';
import { type Act, may } from '../../shared/protocol/access.ts';
import { refuse } from './answers.ts';
import type { Identity } from './identity.ts';

declare module 'fastify' {
  interface FastifyRequest {
    /** Who asks; null where nothing valid was shown. */
    identity: Identity | null;
  }
}

/**
 * A hook (onRequest, which spares reading the body, or preHandler) that lets pass only those who may do `act`:
 * 401 where nobody valid asks, 403 where the role is the wrong one.
 */
export function requireAct(act: Act) {
  return (request: FastifyRequest, reply: FastifyReply, done: HookHandlerDoneFunction): void => {
    const { identity } = request;
    // An onlooker of the demonstration showed nothing: anything but looking asks for a login first.
    if (identity === null || (identity.by === 'demo' && act !== 'look')) {
      const needed = act === 'post-packets' ? 'a relay token' : 'a login';
      refuse(reply.header('www-authenticate', 'Bearer'), 401, 'unauthenticated', `this needs ${needed}`);
      return;
    }
    if (!may(identity.role, act) || (act === 'post-packets' && identity.by !== 'token')) {
      refuse(reply, 403, 'forbidden', `${identity.role} may not do this (${act})`);
      return;
    }
    done();
  };
}
