// One stroke on the sound card, and the mix of all that sound there.

const SCATTER = [0x7feb352d, 0x846ca68b];
const EDGE = 1500; // hertz; above it a harder blow makes a brighter sound
const [LEVEL, KNEE, CEILING] = [0.7, 0.66, 0.8912]; // as the host's own loudspeaker has them
const MOST = 8; // the highest sum that the bend knows; beyond it the sound card holds it there

// force is how hard a hand strikes its nth beat, 0.8 to 1: never twice the same, and always the same for one n.
export function force(n) {
  n ^= n >>> 16;
  n = Math.imul(n, SCATTER[0]);
  n ^= n >>> 15;
  n = Math.imul(n, SCATTER[1]);
  n ^= n >>> 16;
  return 0.8 + 0.2 * ((n >>> 0) / 4294967296);
}

// strike lets a sound begin at a moment of the sound card. hard is the force of the blow: what lies over the edge
// follows it, the rest its root. loud is a plain factor.
export function strike(context, into, buffer, when, hard, loud) {
  const source = context.createBufferSource();
  source.buffer = buffer;
  const level = context.createGain();
  level.gain.value = loud * Math.sqrt(hard);
  if (hard < 1) {
    const bright = context.createBiquadFilter();
    bright.type = "highshelf";
    bright.frequency.value = EDGE;
    bright.gain.value = 10 * Math.log10(hard);
    source.connect(bright);
    bright.connect(level);
  } else source.connect(level);
  level.connect(into);
  source.start(when);
}

// mix gives the place where strokes are put together, and the volume behind it. Quiet sums pass as they are; loud ones
// are bent toward the ceiling, so that no number of bells at once is cut off harshly.
export function mix(context) {
  const bend = new Float32Array(8193);
  for (let i = 0; i < bend.length; i++) bend[i] = soften(MOST * (2 * i / (bend.length - 1) - 1));
  const into = context.createGain();
  const bent = context.createWaveShaper();
  const volume = context.createGain();
  into.gain.value = LEVEL / MOST;
  bent.curve = bend;
  into.connect(bent);
  bent.connect(volume);
  volume.connect(context.destination);
  return { into, volume: volume.gain };
}

function soften(x) {
  const loud = Math.abs(x);
  if (loud <= KNEE) return x;
  return Math.sign(x) * (KNEE + (CEILING - KNEE) * Math.tanh((loud - KNEE) / (CEILING - KNEE)));
}
