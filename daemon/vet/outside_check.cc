// A reader touches nothing outside: no files, sockets, threads, streams. check_library has seen
// that loading it does not either.
#include "vet/apart.h"
#include "vet/reading_run.h"
#include "vet/system_calls.h"

namespace girdle::vet {

void check_outside(const Bench& bench) {
  if (kSanitized) {
    bench.trial.cannot("this girdled is built with a sanitizer, which asks the system for much");
    return;
  }
  const Terms terms = bench.terms();
  const std::string& bytes = bench.sample().bytes;
  bench.at("read with nothing but memory");
  if (!allow_only(Allowed::kMemory, bench.trial.report())) {
    bench.trial.cannot("this system has no filter of system calls (seccomp)");
    return;
  }
  read_whole(bench, terms, bytes);
  read_in_pieces(bench, terms, bytes, every(7, bytes.size()));
  read_growing(bench, terms, bytes, {bytes.size() / 3, bytes.size() * 2 / 3});
}

}  // namespace girdle::vet
