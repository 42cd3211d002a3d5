// SPDX-License-Identifier: GPL-3.0-or-later
//
// The voice probability of a build of RNNoise from npm, a general-purpose peer: reads 16-bit mono samples
// at 48 kHz from standard input and writes a digit for each 10 ms, 9 where it is sure of a voice. Its one
// argument is the folder that holds node_modules; `scripts/setup sounds` makes it.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const FRAME = 480, FLOAT_BYTES = 4;
const dist = `${process.argv[2]}/node_modules/@jitsi/rnnoise-wasm/dist`;
globalThis.window = globalThis; // the build is for browsers
const { default: create } = await import(pathToFileURL(`${dist}/rnnoise.js`).href);
const module = await create({ wasmBinary: readFileSync(`${dist}/rnnoise.wasm`) });
const state = module._rnnoise_create();
const place = module._malloc(FRAME * FLOAT_BYTES);
const raw = readFileSync(0);
const samples = new Int16Array(raw.buffer, raw.byteOffset, raw.length >> 1);
const digits = [];
for (let at = 0; at + FRAME <= samples.length; at += FRAME) {
    module.HEAPF32.set(samples.subarray(at, at + FRAME), place / FLOAT_BYTES);
    digits.push(Math.round(9 * module._rnnoise_process_frame(state, place, place)));
}
process.stdout.write(digits.join(""));
