//go:build speaker && cgo && !windows && !darwin

package speaker

// #cgo pkg-config: alsa
// #cgo LDFLAGS: -ldl
// #include <alsa/asoundlib.h>
// #include <dlfcn.h>
//
// static void hushALSA(const char *file, int line, const char *function, int err, const char *fmt, ...) {}
// static void hushJACK(const char *message) {}
//
// static void hushLibrary(void) {
//	snd_lib_error_set_handler(hushALSA);
//	void *jack = dlopen("libjack.so.0", RTLD_LAZY);
//	if (!jack)
//		return;
//	const char *talk[] = {"jack_set_error_function", "jack_set_info_function"};
//	for (int i = 0; i < 2; i++) {
//		void (*set)(void (*)(const char *)) = (void (*)(void (*)(const char *)))dlsym(jack, talk[i]);
//		if (set)
//			set(hushJACK);
//	}
// }
import "C"

// hushLibrary keeps ALSA, and JACK where ALSA would try it, from writing lines of their own about absent devices among
// ours: Open says it in one.
func hushLibrary() { C.hushLibrary() }
