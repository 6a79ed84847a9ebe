// What the ABI asks of every reader.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "plugins/corpus.h"
#include "plugins/test_host.h"

namespace girdle::plugins_test {

// Every document of tests/corpus/NAME/accept, of which nothing is set aside, and of
// tests/corpus/NAME/aside comes out as is written beside it; there are `at_least` so many.
void expect_corpus(const girdle_reader_descriptor& reader, const std::string& name,
                   size_t at_least, const std::string& extension = "txt");

// The same comes out however the bytes are cut, into feeds or into pieces of a growing document;
// the cuts are random, from `seed`.
void expect_the_same_from_any_split(const girdle_reader_descriptor& reader,
                                    const std::string& bytes, const Options& options,
                                    const Limits& limits, unsigned seed);

// That of every document of the corpus, with each of the limits.
void expect_corpus_from_any_split(const girdle_reader_descriptor& reader, const std::string& name,
                                  const std::string& extension = "txt",
                                  const std::vector<Limits>& limits = {{}, {64, 8}});

// What lies in no record and in no aside holds nothing: `hollow` says of such a stretch whether
// that is so.
void expect_all_bytes_told(std::string_view bytes, const Heard& heard,
                           bool (*hollow)(std::string_view stretch));

// The state that is left after `begun`: cut or lengthened it is refused; altered anywhere it is
// refused or read on with, and `more` breaks nothing.
void expect_bad_states_refused(const girdle_reader_descriptor& reader, std::string_view begun,
                               std::string_view more, const Options& options);

}  // namespace girdle::plugins_test
