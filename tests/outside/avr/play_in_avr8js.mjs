// node play_in_avr8js.mjs PLAYER.hex EDGES.csv SECONDS [ARMED]: plays a project in avr8js, armed after ARMED seconds (a
// tenth, if not given), stop closed. Writes `cycle,level` for each edge of PB1. To be run in the folder whose node_modules holds avr8js.
import { readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const require = createRequire(process.cwd() + '/');
const { AVRClock, AVRIOPort, AVRTimer, AVRWatchdog, CPU, avrInstruction, clockConfig, portBConfig, portDConfig,
  timer1Config, watchdogConfig } = require('avr8js');

const CLOCK_HZ = 16e6;
const FLASH_WORDS = 16384;
const SLEEP = 0x9588;
const ARM = 4, STOP = 5, GATE = 2;

function flashFromHex(text) {
  const flash = new Uint16Array(FLASH_WORDS);
  const bytes = new Uint8Array(flash.buffer);
  for (const line of text.split('\n')) {
    if (!line.startsWith(':') || line.slice(7, 9) !== '00') continue;
    const count = parseInt(line.slice(1, 3), 16), at = parseInt(line.slice(3, 7), 16);
    for (let i = 0; i < count; ++i) bytes[at + i] = parseInt(line.slice(9 + 2 * i, 11 + 2 * i), 16);
  }
  return flash;
}

const [hex, edgesFile, seconds, armedAfter = '0.1'] = process.argv.slice(2);
const cpu = new CPU(flashFromHex(readFileSync(hex, 'utf8')), 2048);
new AVRTimer(cpu, timer1Config);
const portB = new AVRIOPort(cpu, portBConfig);
const portD = new AVRIOPort(cpu, portDConfig);
new AVRWatchdog(cpu, watchdogConfig, new AVRClock(cpu, CLOCK_HZ, clockConfig));

const edges = ['cycle,level'];
portB.addListener((now, before) => {
  if ((now ^ before) & GATE) edges.push(`${cpu.cycles},${now & GATE ? 1 : 0}`);
});
portD.setPin(ARM, true);
portD.setPin(STOP, false);

const armed = CLOCK_HZ * Number(armedAfter), end = Number(seconds) * CLOCK_HZ;
let given = false;

// avr8js takes SLEEP for no instruction at all: time is moved on from event to event until an interrupt is served.
function sleepUntilInterrupt(asleep) {
  while (cpu.pc === asleep && cpu.cycles < end) {
    cpu.cycles = Math.max(cpu.cycles, cpu.nextClockEvent.cycles);
    cpu.tick();
  }
}

while (cpu.cycles < end) {
  if (!given && cpu.cycles >= armed) {
    given = true;
    portD.setPin(ARM, false);
  }
  const sleeps = cpu.progMem[cpu.pc] === SLEEP, after = cpu.pc + 1;
  avrInstruction(cpu);
  cpu.tick();
  if (sleeps && cpu.pc === after) sleepUntilInterrupt(after);
}
writeFileSync(edgesFile, edges.join('\n') + '\n');
