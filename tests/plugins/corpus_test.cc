// Every document of the corpora; sources of the cases: tests/corpus/delimited/README.md,
// tests/corpus/json/README.md.
#include <gtest/gtest.h>

#include "delimited/delimited_reader.h"
#include "json/json_reader.h"
#include "plugins/promises.h"

namespace girdle::plugins_test {
namespace {

TEST(Corpus, DelimitedDocumentsComeOutAsWritten) {
  expect_corpus(delimited::descriptor(), "delimited", 80, "csv");
}

TEST(Corpus, JsonDocumentsComeOutAsWritten) { expect_corpus(json::descriptor(), "json", 52, "json"); }

}  // namespace
}  // namespace girdle::plugins_test
