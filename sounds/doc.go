// Package sounds makes the voices by which a signaller knows in the dark who rings: bells, tubes, coiled
// gongs, cow bells and their kin, and the quiet noises of his own apparatus.
//
// Every sound is computed from a short table of partials, so it is the same on every tablet, on the host's
// own loudspeaker and in a file. Nothing is recorded and nothing is random: the same voice struck with the
// same force gives the same samples every time.
//
// A single stroke never passes −6 dBFS, and all voices are equally loud by the measure of loudness.go, so
// that no neighbour shouts another down. Strokes are simply added where they overlap, as a real bell rings on
// when it is struck again; Mixer keeps any such sum under −1 dBFS.
package sounds
