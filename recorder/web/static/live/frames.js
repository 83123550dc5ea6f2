// The form of a chunk of sound on its way (recorder/live/chunks.py), and of many frames in one body.

const MAGIC = [0x73, 0x65, 0x61, 0x31]; // "sea1"
const HEAD_BYTES = 36;
const PROVEN_BYTES = 32;

const TABLE = Uint32Array.from({ length: 256 }, (_, n) => {
  let value = n;
  for (let bit = 0; bit < 8; bit++) value = value & 1 ? 0xedb88320 ^ (value >>> 1) : value >>> 1;
  return value >>> 0;
});

function crc32(bytes, before) {
  let value = ~before;
  for (let i = 0; i < bytes.length; i++) value = TABLE[(value ^ bytes[i]) & 0xff] ^ (value >>> 8);
  return ~value >>> 0;
}

/** samples: Int16Array. stretch: 32 hex digits. The bytes that the server reads. */
export function chunk(stretch, number, first, samples) {
  const bytes = new Uint8Array(HEAD_BYTES + 2 * samples.length);
  const head = new DataView(bytes.buffer);
  bytes.set(MAGIC, 0);
  for (let i = 0; i < 16; i++) bytes[4 + i] = parseInt(stretch.slice(2 * i, 2 * i + 2), 16);
  head.setUint32(20, number, true);
  head.setBigUint64(24, BigInt(first), true);
  for (let i = 0; i < samples.length; i++) head.setInt16(HEAD_BYTES + 2 * i, samples[i], true);
  const proof = crc32(bytes.subarray(HEAD_BYTES), crc32(bytes.subarray(0, PROVEN_BYTES), 0));
  head.setUint32(PROVEN_BYTES, proof, true);
  return bytes.buffer;
}

/** frames: strings and ArrayBuffers; one body, each frame behind its length. */
export function body(frames) {
  const encoder = new TextEncoder();
  const parts = [];
  for (const frame of frames) {
    const bytes = typeof frame === "string" ? encoder.encode(frame) : new Uint8Array(frame);
    const length = new DataView(new ArrayBuffer(4));
    length.setUint32(0, bytes.length, true);
    parts.push(length.buffer, bytes);
  }
  return new Blob(parts, { type: "application/octet-stream" });
}

export function randomName() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
