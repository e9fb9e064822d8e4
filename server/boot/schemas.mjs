// `npm run schemas`: writes docs/protocol-schema.json, the JSON Schema of every shape of the protocol, from what is built.
import { writeFileSync } from 'node:fs';
import { fromRoot, prepare } from './prepare.mjs';

try {
  prepare();
  const { schemaDocument } = await import(fromRoot('dist/server/live/schema-document.js').href);
  writeFileSync(fromRoot('docs/protocol-schema.json'), schemaDocument());
} catch (error) {
  console.error(`upwind: ${error.message}`);
  process.exitCode = 1;
}
