// The data that the page carries: bursts, the account of the notes, what single bursts do.

const data = JSON.parse(document.getElementById("data").textContent);

function bytesOf(id) {
  const letters = atob(document.getElementById(id).textContent);
  const bytes = new Uint8Array(letters.length);
  for (let i = 0; i < letters.length; ++i) bytes[i] = letters.charCodeAt(i);
  return bytes;
}

// Unsigned LEB128, steps and texts as docs/burst-format.md has them.
class Numbers {
  constructor(bytes) { this.bytes = bytes; this.at = 0; }
  next() {
    let value = 0;
    for (let scale = 1; ; scale *= 128) {
      const byte = this.bytes[this.at++];
      value += (byte & 127) * scale;
      if (byte < 128) return value;
    }
  }
  step(before) {
    const folded = this.next();
    return before + (folded % 2 ? -(folded + 1) / 2 : folded / 2);
  }
  text() {
    const length = this.next();
    this.at += length;
    return new TextDecoder().decode(this.bytes.subarray(this.at - length, this.at));
  }
}

// start, on: ticks. onBefore[i], energyBefore[i]: of all bursts before i.
function readBursts() {
  const numbers = new Numbers(bytesOf("bursts")), count = data.count;
  const start = new Float64Array(count), on = new Float64Array(count);
  const onBefore = new Float64Array(count + 1), energyBefore = new Float64Array(count + 1);
  const peak = new Float64Array(count);
  const effects = new Map(data.effects.map(([ticks, a, joules]) => [ticks, { a: a ?? NaN, joules }]));
  for (let i = 0, end = 0; i < count; ++i) {
    start[i] = end + numbers.next();
    on[i] = numbers.next();
    end = start[i] + on[i];
    const effect = effects.get(on[i]);
    peak[i] = effect.a;
    onBefore[i + 1] = onBefore[i] + on[i];
    energyBefore[i + 1] = energyBefore[i] + effect.joules;
  }
  return { count, start, on, peak, onBefore, energyBefore };
}

const bursts = readBursts();
const secondsOf = ticks => ticks / data.tick_hz;
const songSeconds = Math.max(secondsOf(data.length), 1e-6);
const leastSeconds = Math.min(songSeconds, 20 / data.tick_hz + 20e-6);

// Number of bursts that start before a tick.
function startedBefore(tick) {
  let low = 0, high = bursts.count;
  while (low < high) {
    const middle = (low + high) >> 1;
    bursts.start[middle] < tick ? low = middle + 1 : high = middle;
  }
  return low;
}

// A tick count in microseconds with all the digits it has, as the CSV export writes it.
function exactTime(ticks) {
  return `${withGroups(fixed(ticks * 1e6 / data.tick_hz, 6).replace(/\.?0+$/, ""))} \u00b5s`;
}

function readAccount() {
  if (!document.getElementById("account")) return null;
  const numbers = new Numbers(bytesOf("account"));
  const many = read => Array.from({ length: numbers.next() }, read);
  const limits = many(() => numbers.text());
  let start = 0;
  const notes = many(() => {
    start = numbers.step(start);
    const end = start + numbers.next(), key = numbers.next() / 100, velocity = Math.round(numbers.next() / 255 * 127);
    const [channel, track, voice] = [numbers.next(), numbers.next(), numbers.next()];
    return { start, end, key, velocity, channel, track, voice, said: numbers.text(), kept: 0, dropped: 0, changes: [] };
  });
  const noteOf = new Uint32Array(bursts.count);
  for (let i = 0, note = 0; i < bursts.count; ++i) {
    noteOf[i] = note = numbers.step(note);
    ++notes[note].kept;
  }
  const namesOf = new Map();  // of sets of limits: there are few
  const limitsIn = causes => {
    if (!namesOf.has(causes)) namesOf.set(causes, limits.filter((_, bit) => Math.floor(causes / 2 ** bit) % 2).join(", "));
    return namesOf.get(causes);
  };
  const changeOf = new Map();
  let note = 0, wantedStart = 0, wantedOn = 0, burst = 0;
  const changes = many(() => {
    const fate = data.fates[numbers.next()], causes = numbers.next();
    note = numbers.step(note);
    wantedStart = numbers.step(wantedStart);
    wantedOn = numbers.step(wantedOn);
    const change = { fate, note, wantedStart, wantedOn, burst: null, limits: limitsIn(causes) };
    if (fate !== "dropped") {
      burst = numbers.step(burst);
      change.burst = burst;
      changeOf.set(burst, change);
      --notes[note].kept;
    } else {
      ++notes[note].dropped;
    }
    notes[note].changes.push(change);
    return change;
  });
  return { notes, noteOf, changes, changeOf };
}

const account = readAccount();
