// A saved state comes back from a disk: whatever it holds, it is refused or read on with.
#include <random>

#include "vet/reading_run.h"

namespace girdle::vet {
namespace {

class StateCheck {
 public:
  explicit StateCheck(const Bench& bench)
      : bench_(bench), bytes_(bench.sample().bytes), terms_(bench.terms()), damaged_(terms_) {
    damaged_.damaged = true;
  }

  void run() {
    for (const size_t part : {2, 3, 1, 4}) {
      const size_t place = bytes_.size() * part / 4;
      if (!save_at(place)) continue;
      const std::string from = "the state saved at " + std::to_string(place);
      cut(from);
      altered(from);
      longer(from);
    }
    others();
  }

 private:
  bool save_at(size_t place) {
    bench_.at("saved at " + std::to_string(place));
    Session session(bench_.trial, bench_.loaded, terms_);
    if (!session.begun() || !session.feed(std::string_view(bytes_).substr(0, place))) return false;
    state_ = session.save();
    rest_ = std::string_view(bytes_).substr(session.consumed());
    return !state_.empty();
  }

  // True: it was taken, and read on with.
  bool takes(const std::string& state) {
    bench_.trial.tried();
    Session session(bench_.trial, bench_.loaded, damaged_, state);
    if (!session.begun()) return false;
    if (session.feed(rest_.substr(0, 4096)) && session.finish()) session.save();
    return true;
  }

  void cut(const std::string& from) {
    const size_t step = state_.size() / 200 + 1;
    for (size_t size = 1; size < state_.size() && bench_.trial.time_left(); size += step) {
      bench_.at(from + ", cut to " + std::to_string(size) + " bytes");
      if (takes(state_.substr(0, size)))
        bench_.trial.note("a state that is cut short is taken for whole: give it a size or a mark");
    }
  }

  void longer(const std::string& from) {
    bench_.at(from + ", with a byte more");
    if (takes(state_ + '\0'))
      bench_.trial.note("a state with a byte too many is taken: look whether all of it was used");
  }

  void altered(const std::string& from) {
    const size_t step = state_.size() / 100 + 1;
    for (size_t i = 0; i < state_.size() && bench_.trial.time_left(); i += step) {
      for (const char byte : {'\0', '\1', '\2', '\x7F', '\x80', '\xFF'}) {
        std::string state = state_;
        state[i] = byte;
        bench_.at(from + ", byte " + std::to_string(i) + " altered");
        takes(state);
      }
    }
  }

  // No states at all.
  void others() {
    std::mt19937_64 random(bytes_.size());
    for (int i = 0; i < 200 && bench_.trial.time_left(); ++i) {
      std::string state(1 + random() % 100, '\0');
      for (char& byte : state) byte = static_cast<char>(random());
      bench_.at("resumed with " + std::to_string(state.size()) + " bytes that are no state");
      takes(state);
    }
  }

  const Bench& bench_;
  const std::string& bytes_;
  const Terms terms_;
  Terms damaged_;
  std::string state_;
  std::string_view rest_;
};

}  // namespace

void check_states(const Bench& bench) { StateCheck(bench).run(); }

}  // namespace girdle::vet
