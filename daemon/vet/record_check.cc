// A sample read at once: the contract, and what its expectation says.
#include <algorithm>

#include "base/text.h"
#include "vet/reading_run.h"

namespace girdle::vet {
namespace {

using base::counted;

std::string listed(const Fields& fields) {
  std::string out;
  for (const auto& [name, value] : fields) {
    if (!out.empty()) out += ", ";
    out.append(name).append("=").append(value);
  }
  return base::excerpt(out, 120);
}

void compare_records(const Bench& bench, const Heard& heard) {
  const std::vector<Fields>& expected = bench.sample().expected->records;
  std::vector<Fields> records;
  for (const Event& event : heard)
    if (!event.aside) records.push_back(event.fields());
  const size_t both = std::min(records.size(), expected.size());
  for (size_t i = 0; i < both; ++i) {
    if (records[i] == expected[i]) continue;
    bench.trial.fault("expected.record",
                      "record " + std::to_string(i + 1) + " is " + listed(records[i]),
                      "after its expected.json: " + listed(expected[i]));
    return;
  }
  if (records.size() != expected.size())
    bench.trial.fault("expected.records", "gives " + counted(records.size(), "record"),
                      "after its expected.json: " + counted(expected.size(), "record"));
}

std::string told(uint64_t offset, uint64_t length, uint64_t line, std::string_view reason) {
  return std::to_string(length) + " bytes at " + std::to_string(offset) + ", line " +
         std::to_string(line) + ": " + base::excerpt(reason, 120);
}

void compare_asides(const Bench& bench, const Heard& heard) {
  const std::vector<ExpectedAside>& expected = bench.sample().expected->asides;
  Heard asides;
  std::copy_if(heard.begin(), heard.end(), std::back_inserter(asides),
               [](const Event& event) { return event.aside; });
  const size_t both = std::min(asides.size(), expected.size());
  for (size_t i = 0; i < both; ++i) {
    const Event& is = asides[i];
    const ExpectedAside& should = expected[i];
    if (is.offset == should.offset && is.length == should.length && is.line == should.line &&
        is.texts.find(should.reason) != std::string::npos)
      continue;
    bench.trial.fault("expected.aside",
                      "sets aside " + told(is.offset, is.length, is.line, is.texts),
                      "after its expected.json: " +
                          told(should.offset, should.length, should.line, should.reason));
    return;
  }
  if (asides.size() != expected.size())
    bench.trial.fault("expected.asides", "gives " + counted(asides.size(), "aside"),
                      "after its expected.json: " + counted(expected.size(), "aside"));
}

// Where a document has one kind of line end alone, everybody counts its lines alike.
void look_at_lines(const Bench& bench, const Heard& heard) {
  const std::string& bytes = bench.sample().bytes;
  const auto has = [&](char c) { return bytes.find(c) != std::string::npos; };
  if (has('\0') || (has('\n') && has('\r'))) return;
  const char end = has('\r') ? '\r' : '\n';
  uint64_t line = 1, at = 0;
  for (const Event& event : heard) {
    const auto from = bytes.begin() + static_cast<ptrdiff_t>(at);
    const auto to = bytes.begin() + static_cast<ptrdiff_t>(std::max(event.offset, at));
    line += static_cast<uint64_t>(std::count(from, to, end));
    at = std::max(event.offset, at);
    if (event.aside || event.line == 0 || event.line == line) continue;
    bench.trial.fault("line.wrong",
                      "says that the record at " + std::to_string(event.offset) +
                          " begins on line " + std::to_string(event.line),
                      "it begins on line " + std::to_string(line) + "; 0 where it is not known");
    return;
  }
}

int64_t bytes_in(const Heard& heard) {
  uint64_t bytes = 0;
  for (const Event& event : heard) bytes += event.length;
  return static_cast<int64_t>(bytes);
}

}  // namespace

void check_records(const Bench& bench) {
  bench.at("read at once");
  const Sample& sample = bench.sample();
  Session session(bench.trial, bench.loaded, bench.terms());
  bench.trial.tried();
  if (!session.begun()) {
    bench.trial.fault("options.sample", "refuses the options of this sample: " + session.refusal(),
                      "NAME.options.yaml beside a sample has the options that it needs");
    return;
  }
  if (!session.feed(sample.bytes) || !session.finish()) return;
  session.save();
  const Heard& heard = session.heard();
  bench.trial.measure("records", static_cast<int64_t>(session.records()));
  bench.trial.measure("asides", static_cast<int64_t>(session.events() - session.records()));
  bench.trial.measure("bytes in neither",
                      static_cast<int64_t>(sample.bytes.size()) - bytes_in(heard));
  look_at_lines(bench, heard);
  if (!sample.expected) return;
  bench.trial.measure("expectations", 1);
  compare_records(bench, heard);
  compare_asides(bench, heard);
}

}  // namespace girdle::vet
