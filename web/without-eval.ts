/**
 * The page's content policy forbids making code from text, and the schema library tries to unless it is told not to:
 * each page would begin with a report of a broken policy. Import this before any schema is made.
 */
import { config } from 'zod';

config({ jitless: true });
