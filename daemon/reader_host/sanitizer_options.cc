// Options of a sanitizer's runtime in girdled-reader-host; part of instrumented builds only. In the
// sandbox it finds neither symbols nor leaks; and a reader of the tests that means to crash shall
// crash. Memory is limited in the runtime's way, in MiB.
extern "C" {

const char* __asan_default_options();
const char* __asan_default_options() {
  return "detect_leaks=0:symbolize=0:handle_segv=0:handle_abort=0:handle_sigill=0:"
         "mmap_limit_mb=1024";
}

const char* __ubsan_default_options();
const char* __ubsan_default_options() { return "symbolize=0"; }
}
