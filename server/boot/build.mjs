// `npm run build`: builds whether or not anything changed.
import { build } from './prepare.mjs';

try {
  build();
} catch (error) {
  console.error(`upwind: ${error.message}`);
  process.exitCode = 1;
}
