// The same records, asides, places and states, however the bytes are cut into feeds.
#include <algorithm>
#include <functional>
#include <random>

#include "vet/reading_run.h"

namespace girdle::vet {
namespace {

constexpr const char* kSame =
    "what is told depends on the bytes alone: keep what a feed ends with until its end has come";
constexpr const char* kSoon =
    "emit as soon as the end of a record is certain, whatever the feed: no sooner and no later";
constexpr const char* kState =
    "consumed and save tell of the place that was reached, and not of how the bytes came";
constexpr size_t kMostSteps = 64 << 10;

// What there is to see after a byte.
struct Step {
  uint64_t events = 0, consumed = 0;
  size_t state = 0;  // its digest
};

size_t digest(const std::string& state) { return std::hash<std::string>()(state); }

class CutCheck {
 public:
  explicit CutCheck(const Bench& bench)
      : bench_(bench), bytes_(bench.sample().bytes), terms_(bench.terms()) {}

  void run() {
    bench_.at("read at once");
    whole_ = read_whole(bench_, terms_, bytes_);
    if (!whole_) return;
    in_pieces();
    byte_by_byte();
    with_saves();
    at_every_place();
    by_chance();
  }

 private:
  void same(const std::optional<Heard>& heard) {
    expect_same(bench_, "cuts.records", whole_, heard, kSame);
  }

  void in_pieces() {
    for (const size_t size : {2, 3, 7, 64, 4096}) {
      if (bytes_.size() <= size || !bench_.trial.time_left()) return;
      bench_.at("fed in pieces of " + std::to_string(size));
      same(read_in_pieces(bench_, terms_, bytes_, every(size, bytes_.size())));
    }
  }

  // Of a large document only its beginning, which is one too.
  std::string_view beginning() const { return std::string_view(bytes_).substr(0, kMostSteps); }

  void byte_by_byte() {
    bench_.at("fed byte by byte");
    const std::string_view bytes = beginning();
    Session session(bench_.trial, bench_.loaded, terms_);
    bench_.trial.tried();
    for (size_t i = 0; session.usable() && i < bytes.size(); ++i) {
      if (!bench_.trial.time_left() || !session.feed(bytes.substr(i, 1))) return;
      if (i % 5 == 0 && !session.feed_nothing()) return;
      steps_.push_back({session.events(), session.consumed(), 0});
    }
    if (!session.usable() || !session.finish()) return;
    stepped_ = session.heard();
    if (bytes.size() == bytes_.size()) same(stepped_);
  }

  // Asking for the state between two feeds changes nothing.
  void with_saves() {
    bench_.at("fed byte by byte, and saved after each");
    Session session(bench_.trial, bench_.loaded, terms_);
    bench_.trial.tried();
    for (size_t i = 0; session.usable() && i < steps_.size(); ++i) {
      if (!bench_.trial.time_left() || !session.feed(std::string_view(bytes_).substr(i, 1))) return;
      steps_[i].state = digest(session.save());
      if (i % 16 == 0 && digest(session.save()) != steps_[i].state)
        bench_.trial.fault("save.twice", "save gives another state at the second call", kState);
    }
    if (!stepped_ || !session.usable() || !session.finish()) return;
    saves_ = expect_same(bench_, "cuts.save", stepped_, session.heard(),
                         "save describes the place, and changes nothing");
  }

  void at_every_place() {
    for (const size_t cut : places(*whole_, bytes_.size(), 400)) {
      if (!bench_.trial.time_left()) return;
      bench_.at("cut at " + std::to_string(cut));
      in_two(cut);
    }
  }

  void in_two(size_t cut) {
    Session session(bench_.trial, bench_.loaded, terms_);
    bench_.trial.tried();
    if (!session.begun() || !session.feed(std::string_view(bytes_).substr(0, cut))) return;
    if (cut <= steps_.size()) compare(session, steps_[cut - 1]);
    if (session.feed(std::string_view(bytes_).substr(cut)) && session.finish())
      same(session.heard());
  }

  // `step` is from the bytes one by one.
  void compare(Session& session, const Step& step) {
    const auto differ = [&](const char* rule, const std::string& what, uint64_t one, uint64_t many,
                            const char* right) {
      if (one != many)
        bench_.trial.fault(rule,
                           what + ": " + std::to_string(one) + " after one feed, " +
                               std::to_string(many) + " byte by byte",
                           right);
    };
    differ("cuts.late", "records and asides up to there", session.events(), step.events, kSoon);
    differ("cuts.consumed", "consumed there", session.consumed(), step.consumed, kState);
    if (saves_ && digest(session.save()) != step.state)
      bench_.trial.fault("cuts.state", "save gives one state after one feed, another byte by byte",
                         kState);
  }

  void by_chance() {
    std::mt19937_64 random(bytes_.size());
    for (int i = 0; i < 200 && bytes_.size() > 1 && bench_.trial.time_left(); ++i) {
      Cuts cuts(1 + random() % 8);
      std::string how = "cut at";
      for (size_t& cut : cuts) cut = random() % (bytes_.size() + 1);
      std::sort(cuts.begin(), cuts.end());
      for (const size_t cut : cuts) how += ' ' + std::to_string(cut);
      bench_.at(how);
      same(read_in_pieces(bench_, terms_, bytes_, cuts));
    }
  }

  const Bench& bench_;
  const std::string& bytes_;
  const Terms terms_;
  std::optional<Heard> whole_, stepped_;
  std::vector<Step> steps_;
  bool saves_ = false;  // save could be called, and changed nothing
};

}  // namespace

void check_cuts(const Bench& bench) { CutCheck(bench).run(); }

}  // namespace girdle::vet
