// The reader of the tests that breaks its contract, opened in either carrier.
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include "reading/blocking_wait.h"
#include "reading/mappings.h"
#include "reading/reader.h"

namespace girdle::reading {

enum class Carried { kInProcess, kToProcess };

inline Isolation test_isolation() {
  Isolation isolation;
  isolation.host = GIRDLE_READER_HOST;
  isolation.patience = std::chrono::seconds(20);  // of slow machines, sanitizers and other tests
  return isolation;
}

inline std::optional<Isolation> isolation_of(Carried carried) {
  if (carried == Carried::kInProcess) return std::nullopt;
  return test_isolation();
}

// For the names of parameterised tests.
inline std::string name_of(Carried carried) {
  return carried == Carried::kInProcess ? "InProcess" : "InAProcessOfItsOwn";
}

// Lines of text, each the stock number of a declaration; records of at most 64 bytes.
inline base::Result<std::shared_ptr<Reader>> open_odd(
    std::string behaviour, std::optional<Isolation> isolation, std::string reader = "odd",
    const std::filesystem::path& folder = GIRDLE_TEST_READERS) {
  const Catalogue catalogue = Catalogue::scan({folder}, nullptr);
  model::Mapping mapping = declaration_mapping();
  mapping.fields[0].from = {"text"};
  Options options;
  if (reader == "odd") options = {{"behaviour", std::move(behaviour)}};
  return Reader::open(catalogue, {.reader = std::move(reader),
                                  .options = std::move(options),
                                  .mapping = std::move(mapping),
                                  .timezone = "Europe/Brussels",
                                  .max_record_bytes = 64,
                                  .isolation = std::move(isolation)});
}

struct Read {
  model::Records records;
  std::string fault;
  uint64_t consumed = 0;
};

inline Read read(Reader& reader, const std::vector<std::string>& pieces, bool whole = true) {
  Read result;
  auto document = reader.begin();
  EXPECT_TRUE(document) << document.error().text;
  if (!document) return result;
  for (const std::string& piece : pieces) document->feed(piece, result.records);
  document->finish(whole, result.records);
  result.fault = document->fault();
  result.consumed = document->consumed();
  return result;
}

// In one exchange, as small documents are read.
inline Read read_at_once(Reader& reader, const std::string& bytes) {
  Read result;
  auto document = reader.begin();
  EXPECT_TRUE(document) << document.error().text;
  if (!document) return result;
  document->start_all(bytes, true, result.records);
  while (const auto wait = document->step()) block(*wait);
  result.fault = document->fault();
  result.consumed = document->consumed();
  return result;
}

inline std::string bytes_of(const std::vector<model::Aside>& asides) {
  std::string bytes;
  for (const model::Aside& aside : asides) bytes += aside.bytes;
  return bytes;
}

}  // namespace girdle::reading
