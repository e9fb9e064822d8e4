/** docs/protocol-schema.json: the shapes of the protocol as one JSON Schema document, each under `$defs`. */
import { PROTOCOL_VERSION } from '../../shared/protocol/packet.ts';
import { jsonSchemas } from './openapi.ts';

/** Text of the file. It depends on the schemas alone, so that the same code always gives the same bytes. */
export function schemaDocument(): string {
  const document = {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: `Upwind packet protocol, version ${PROTOCOL_VERSION}`,
    description:
      'Each shape is under $defs and stands alone. A packet is judged field by field: one that breaks this schema in a field other than monitor, boot or seq is stored all the same, with a warning.',
    $defs: jsonSchemas(),
  };
  return `${JSON.stringify(document, null, 2)}\n`;
}
