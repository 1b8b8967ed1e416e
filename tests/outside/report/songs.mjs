// MIDI files made for these tests, invented.

const variable = value => value < 128 ? [value] : [...variable(value >> 7).map(byte => byte | 128), value & 127];
const chunk = (tag, bytes) => Buffer.concat([Buffer.from(tag), Buffer.from([bytes.length >>> 24, bytes.length >>> 16 & 255, bytes.length >>> 8 & 255, bytes.length & 255]), Buffer.from(bytes)]);

// notes: { at, length (ticks, 480 a quarter note of half a second), key, channel }
export function midiFile(title, notes) {
  const name = [...Buffer.from(title)];
  const events = notes.flatMap(({ at, length, key, channel = 0 }) => [
    { at, bytes: [0x90 | channel, key, 100] }, { at: at + length, bytes: [0x80 | channel, key, 0] }]);
  events.sort((a, b) => a.at - b.at || (a.bytes[0] & 0x10) - (b.bytes[0] & 0x10));
  let now = 0;
  const bytes = [0, 0xFF, 3, ...variable(name.length), ...name];
  for (const event of events) {
    bytes.push(...variable(event.at - now), ...event.bytes);
    now = event.at;
  }
  bytes.push(0, 0xFF, 0x2F, 0);
  return Buffer.concat([chunk("MThd", [0, 0, 0, 1, 1, 0xE0]), chunk("MTrk", bytes)]);
}

// Three voices for so many seconds: about 670 bursts a second.
export function longSong(title, seconds) {
  const notes = [];
  for (let at = 0, bar = 0; at < seconds * 960; at += 960, ++bar) {
    const root = 45 + [0, 5, 7, 3, 8, 10, 2, 0][bar % 8];
    notes.push({ at, length: 940, key: root, channel: 0 }, { at, length: 460, key: root + 12 + [4, 7, 3][bar % 3], channel: 1 },
               { at: at + 480, length: 460, key: root + 16, channel: 1 }, { at, length: 940, key: root + 19, channel: 2 });
  }
  return midiFile(title, notes);
}
