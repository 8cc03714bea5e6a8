//go:build speaker && cgo && !windows && !darwin

package speaker

// #cgo pkg-config: alsa
// #include <alsa/asoundlib.h>
//
// static void hush(const char *file, int line, const char *function, int err, const char *fmt, ...) {}
// static void hushLibrary(void) { snd_lib_error_set_handler(hush); }
import "C"

// hushLibrary keeps ALSA from writing its own lines about absent devices among ours: Open says it in one.
func hushLibrary() { C.hushLibrary() }
