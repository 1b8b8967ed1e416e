// time_midi_file.mjs SONG: milliseconds that npm's midi-file takes to read it, warm: the best of many.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const { parseMidi } = createRequire(`${process.cwd()}/`)('midi-file');
const bytes = readFileSync(process.argv[2]);
let best = Infinity;
for (let round = 0; round < 500; ++round) {
  const from = performance.now();
  parseMidi(bytes);
  best = Math.min(best, performance.now() - from);
}
console.log(best.toFixed(3));
