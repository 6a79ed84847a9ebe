// max_record_bytes and max_fields: kept in what is told, and in what is held.
#include <algorithm>
#include <fstream>
#include <random>

#include "vet/apart.h"
#include "vet/reading_run.h"

namespace girdle::vet {
namespace {

constexpr const char* kCuts =
    "what is too long is set aside in pieces that depend on the bytes alone, also across a resume";

uint64_t longest(const Heard& heard, bool aside) {
  uint64_t bytes = 0;
  for (const Event& event : heard)
    if (event.aside == aside) bytes = std::max(bytes, event.length);
  return bytes;
}

// Of the stretches that nothing was told of: a header is no record, and has to be held like one.
uint64_t longest_gap(const Heard& heard, uint64_t size) {
  uint64_t bytes = 0, end = 0;
  for (const Event& event : heard) {
    bytes = std::max(bytes, event.offset - std::min(end, event.offset));
    end = event.end();
  }
  return std::max(bytes, size - std::min(end, size));
}

uint64_t most_fields(const Heard& heard) {
  uint64_t fields = 1;
  for (const Event& event : heard)
    if (!event.aside) fields = std::max<uint64_t>(fields, event.fields().size());
  return fields;
}

// A reason may name the limit.
std::optional<Heard> without_reasons(std::optional<Heard> heard) {
  if (!heard) return heard;
  for (Event& event : *heard)
    if (event.aside) event.texts.clear();
  return heard;
}

class LimitCheck {
 public:
  LimitCheck(const Bench& bench, Heard whole)
      : bench_(bench), bytes_(bench.sample().bytes), whole_(std::move(whole)) {}

  void run() {
    const uint64_t bytes = std::max<uint64_t>(longest(whole_, false), 64);
    const uint64_t fields = most_fields(whole_);
    if (longest(whole_, true) <= bytes && longest_gap(whole_, bytes_.size()) <= bytes)
      expect_same(bench_, "limits.exact", without_reasons(whole_),
                  without_reasons(read(bytes, 1000)),
                  "a record of max_record_bytes is one; only what is longer is set aside");
    for (const uint64_t fewer : {uint64_t{1}, fields / 2, fields - 1})
      if (fewer > 0 && fewer < fields) under(1 << 20, fewer);
    for (const uint64_t less : {uint64_t{64}, uint64_t{65}, bytes / 2, bytes - 1})
      if (less >= 64 && less < bytes) under(less, 1000);
    under(64, 1);
  }

 private:
  Terms terms(uint64_t bytes, uint64_t fields) const {
    Terms terms = bench_.terms();
    terms.max_record_bytes = bytes;
    terms.max_fields = fields;
    return terms;
  }

  void at(uint64_t bytes, uint64_t fields, const std::string& how) {
    bench_.at("with at most " + std::to_string(bytes) + " bytes and " + std::to_string(fields) +
              (fields == 1 ? " field, " : " fields, ") + how);
  }

  std::optional<Heard> read(uint64_t bytes, uint64_t fields) {
    at(bytes, fields, "read at once");
    return read_whole(bench_, terms(bytes, fields), bytes_);
  }

  void under(uint64_t bytes, uint64_t fields) {
    if (!bench_.trial.time_left()) return;
    auto whole = read(bytes, fields);
    const Terms with = terms(bytes, fields);
    at(bytes, fields, "fed byte by byte");
    const size_t step = bytes_.size() / (64 << 10) + 1;
    expect_same(bench_, "limits.cuts", whole,
                read_in_pieces(bench_, with, bytes_, every(step, bytes_.size())), kCuts);
    if (!whole) return;
    forget_layouts(*whole);
    std::mt19937_64 random(bytes_.size() + bytes);
    for (int i = 0; i < 40 && bytes_.size() > 1 && bench_.trial.time_left(); ++i) {
      const size_t place = 1 + random() % (bytes_.size() - 1);
      at(bytes, fields, "saved and resumed at " + std::to_string(place));
      expect_same(bench_, "limits.resume", whole, read_growing(bench_, with, bytes_, {place}),
                  kCuts);
    }
  }

  const Bench& bench_;
  const std::string& bytes_;
  const Heard whole_;
};

// ---- bounds

constexpr uint64_t kLimit = 4096;              // of a record, while something endless comes
constexpr size_t kEndless = size_t{24} << 20;  // bytes of it
constexpr size_t kFeed = 64 << 10;
constexpr int64_t kMostHeld = int64_t{12} << 20;  // bytes of memory: far less than what was fed

int64_t resident() {
  std::ifstream statm("/proc/self/statm");
  int64_t size = 0, resident = 0;
  statm >> size >> resident;
  return resident * 4096;
}

// The beginning of a sample, and then for ever the same few bytes.
class EndlessDocument {
 public:
  EndlessDocument(std::string begin, const std::string& again) : begin_(std::move(begin)) {
    while (block_.size() < kFeed) block_ += again;
  }
  const std::string& begin() const { return begin_; }
  const std::string& block() const { return block_; }

 private:
  std::string begin_, block_;
};

void feed_endless(const Bench& bench, const EndlessDocument& document) {
  Terms terms = bench.terms();
  terms.max_record_bytes = kLimit;
  terms.max_fields = 100;
  terms.keep = false;
  Session session(bench.trial, bench.loaded, terms);
  bench.trial.tried();
  if (!session.begun() || !session.feed(document.begin())) return;
  const int64_t before = resident();
  for (size_t fed = 0; fed < kEndless && bench.trial.time_left(); fed += kFeed) {
    if (!session.feed(document.block())) return;
    const int64_t held = resident() - before;
    if (held < kMostHeld || kSanitized) continue;
    bench.trial.fault("bounds.memory",
                      "holds " + std::to_string(held >> 20) + " MiB after " +
                          std::to_string((fed + kFeed) >> 20) +
                          " MiB of a record that never ends; max_record_bytes is 4096",
                      "what is held is bounded by the limits: set a stretch that is too long aside "
                      "in pieces, while it comes");
    return;
  }
}

std::string described(const std::string& bytes) {
  std::string out;
  for (const char c : bytes) {
    if (c == '\n') {
      out += "LF";
    } else if (c == '\r') {
      out += "CR";
    } else {
      out += static_cast<unsigned char>(c) < 0x21 ? std::string("a blank") : std::string(1, c);
    }
  }
  return out;
}

}  // namespace

void check_limits(const Bench& bench) {
  bench.at("read at once");
  auto whole = read_whole(bench, bench.terms(), bench.sample().bytes);
  if (whole) LimitCheck(bench, std::move(*whole)).run();
}

void check_bounds(const Bench& bench) {
  const std::string& bytes = bench.sample().bytes;
  const std::string own = bytes.empty() ? "x" : bytes.substr(bytes.size() / 2, 1);
  const std::string endless[] = {"x", "\"", "[", "\n", " ", "x,", own};
  constexpr size_t kParts = 3;
  const size_t all = std::size(endless) * kParts;
  for (size_t i = 0; i < all && bench.trial.time_left(); ++i) {
    const size_t which = (i + bench.index * 4) % all;  // with little time, others for each sample
    const std::string& again = endless[which % std::size(endless)];
    const size_t part = bytes.size() * (which % kParts) / kParts;
    bench.at(std::to_string(part) + " bytes of it, then " + described(again) + " without end");
    feed_endless(bench, {bytes.substr(0, part), again});
  }
}

}  // namespace girdle::vet
