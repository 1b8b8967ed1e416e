// node play_in_rp2040js.mjs PLAYER.uf2 EDGES.csv STATUS SECONDS STALL [AT:ARM:STOP ...]: plays a project in rp2040js.
// STATUS is the address of player_status. STALL: every now and then the processor stands still for up to so many cycles
// while all else goes on, wherever it is; 0: never. AT:ARM:STOP sets the switches from AT seconds on (1 closed, 0 open).
// Writes `cycle,level` for each edge of the gate and prints one JSON object. Ends 5 ms after the song, at SECONDS at
// the latest, or with a reset. To be run in the folder whose node_modules holds rp2040js.
//
// The chip's ROM is not there: what it would do with the flash (RP2040 Datasheet, 2.8.1) is done here. rp2040js leaves
// out the delays of PIO instructions but counts them; here each state machine is stepped when its delay has passed.
import { readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const require = createRequire(process.cwd() + '/');
const { RP2040 } = require('rp2040js');

const CLOCK_HZ = 120e6, NANOS = 1e9 / CLOCK_HZ;
const FLASH = 0x10000000, RAM = 0x20000000, BOOT2_AT = 0x20041F00, STACK_TOP = 0x20040000, UNTOUCHED = 0xA5;
const GATE = 15, ARM = 14, STOP = 13, HIGH = 1;
const MARK = 0xB5, MARK_AT = 0, STATE_AT = 1, ERROR_AT = 2, SONGS_AT = 3, MADE_AT = 4, MISSED_AT = 8; // player_status

// "USB Flashing Format (UF2)": 512-byte blocks of 256 bytes each.
function flashFromUf2(file, flash) {
  const view = new DataView(file.buffer, file.byteOffset, file.length);
  const word = (at) => view.getUint32(at, true);
  for (let at = 0; at < file.length; at += 512) {
    if (word(at) !== 0x0A324655 || word(at + 4) !== 0x9E5D5157 || word(at + 508) !== 0x0AB16F30) throw new Error('no UF2');
    if (word(at + 28) !== 0xE48BFF56 || word(at + 16) !== 256) throw new Error('a UF2 for another chip');
    if (word(at + 20) !== at / 512 || word(at + 24) !== file.length / 512) throw new Error('UF2 blocks out of order');
    flash.set(file.subarray(at + 32, at + 288), word(at + 12) - FLASH);
  }
}

// 2.8.1.3.1: CRC-32 with polynomial 0x04C11DB7, initial value all ones, neither reflected nor inverted.
function crcOfBoot2(bytes) {
  let crc = 0xFFFFFFFF;
  for (const byte of bytes) {
    crc ^= byte << 24;
    for (let bit = 0; bit < 8; ++bit) crc = crc & 0x80000000 ? crc << 1 ^ 0x04C11DB7 : crc << 1;
  }
  return crc >>> 0;
}

function boot(chip) {
  chip.sram.fill(UNTOUCHED);
  const boot2 = chip.flash.slice(0, 256);
  if (crcOfBoot2(boot2.subarray(0, 252)) !== new DataView(boot2.buffer).getUint32(252, true))
    throw new Error('the checksum of the second boot stage is wrong: the ROM would not start this');
  chip.sram.set(boot2, BOOT2_AT - RAM);
  chip.core.PC = BOOT2_AT;
}

const [uf2, edgesFile, status, seconds, stall, songs, ...switches] = process.argv.slice(2);
const chip = new RP2040();
chip.logger = { debug() {}, info() {}, warn(...words) { console.error(...words); }, error(...words) { console.error(...words); } };
flashFromUf2(readFileSync(uf2), chip.flash);
boot(chip);

let cycle = 0, reset = false;
const end = Number(seconds) * CLOCK_HZ;
const edges = ['cycle,level'];
chip.gpio[GATE].addListener((level, before) => {
  if ((level === HIGH) !== (before === HIGH)) edges.push(`${cycle},${level === HIGH ? 1 : 0}`);
});
class Reset extends Error {}
chip.peripherals[0x40058].onWatchdogTrigger = () => { throw new Reset('by the watchdog'); };

const pio = chip.pio[0];
pio.run = () => {};
const due = pio.machines.map(() => 0);
function stepMachines() {
  let next = Infinity;
  pio.machines.forEach((machine, i) => {
    if (!machine.enabled || machine.waiting) {
      due[i] = cycle + 1;
      return;
    }
    if (due[i] <= cycle) {
      const before = machine.cycles;
      machine.step();
      due[i] = cycle + Math.max(1, machine.cycles - before);
    }
    if (!machine.waiting) next = Math.min(next, due[i]);
  });
  pio.checkChangedPins();
  return next;
}
function passUntil(target) {
  while (cycle < target) {
    const next = stepMachines();
    const to = Math.max(cycle + 1, Math.min(target, next));
    chip.clock.tick((to - cycle) * NANOS);
    cycle = to;
  }
}

function setSwitches([, arm, stop]) {
  chip.gpio[ARM].setInputValue(arm === '0');
  chip.gpio[STOP].setInputValue(stop === '0');
}
const hands = switches.map((words) => words.split(':'));
const statusAt = Number(status) - RAM, statusByte = (at) => chip.sram[statusAt + at];
const songIsOver = () => statusByte(MARK_AT) === MARK && statusByte(SONGS_AT) >= Number(songs);
setSwitches(['0', '0', '0']);
let stopAt = end;
// WFI ends when SysTick is due, masked or not; rp2040js ends it by a peripheral's interrupt only.
function sleep() {
  passUntil(cycle + Math.max(1, Math.min(12000, Math.ceil(chip.clock.nanosToNextAlarm / NANOS))));
  if (chip.core.pendingSystick) chip.core.waiting = false;
}
// A linear congruential generator (Numerical Recipes, 3rd edition, 7.1.7): the same stalls in every run.
let dice = 1;
function throwDice(sides) {
  dice = Math.imul(dice, 1664525) + 1013904223 >>> 0;
  return Math.floor(dice / 2 ** 32 * sides);
}
let nextStall = Number(stall) > 0 ? 0 : Infinity;
function stallSometimes() {
  if (cycle < nextStall) return;
  passUntil(cycle + throwDice(Number(stall)));
  nextStall = cycle + throwDice(4 * Number(stall));
}
try {
  while (cycle < Math.min(end, stopAt)) {
    while (hands.length > 0 && cycle >= Number(hands[0][0]) * CLOCK_HZ) setSwitches(hands.shift());
    if (stopAt === end && songIsOver()) stopAt = cycle + CLOCK_HZ / 200;
    stallSometimes();
    if (chip.core.waiting) sleep();
    else passUntil(cycle + chip.core.executeInstruction());
  }
} catch (error) {
  if (!(error instanceof Reset)) throw error;
  reset = true;
}
// Down from the stack's top, to the first 64 bytes that nobody wrote to.
function deepestStack() {
  let depth = 0;
  for (let below = 0; below < depth + 64; ++below) {
    if (chip.sram[STACK_TOP - RAM - 1 - below] !== UNTOUCHED) depth = below + 1;
  }
  return depth;
}
writeFileSync(edgesFile, edges.join('\n') + '\n');
const statusWord = (at) => new DataView(chip.sram.buffer).getUint32(statusAt + at, true);
console.log(JSON.stringify({ state: statusByte(STATE_AT), error: statusByte(ERROR_AT), songs: statusByte(SONGS_AT),
  made: statusWord(MADE_AT), missed: statusWord(MISSED_AT), reset, cycles: cycle, deepest_stack: deepestStack() }));
