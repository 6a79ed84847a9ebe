// The names of a folder that are being dealt with: waiting to stand still, ready to be taken in, or
// handed over and not yet durable. Bounded, and without allocation per name once its entries have
// been made.
//
// One thread. Entries stay where they are until they are dropped.
#pragma once

#include <chrono>
#include <cstdint>
#include <list>
#include <string>
#include <string_view>
#include <vector>

#include "intake/files.h"

namespace girdle::intake {

using SteadyTime = std::chrono::steady_clock::time_point;

struct InHand {
  enum class Stage : uint8_t { kWaiting, kReady, kTaken, kInFlight };

  std::string name;
  Stage stage = Stage::kWaiting;
  bool again = false;     // something happened to the file since it was taken: look at it once more
  bool complete = false;  // its writer closed it, or it was moved in
  bool verify = false;    // equal times do not mean equal content: read it even so
  bool move = false;      // to the folder of what was taken in, once it has landed
  FileStatus seen;        // the last time that it was looked at
  SteadyTime due{};       // kWaiting: when to look again

 private:
  friend class NamesInHand;
  std::list<InHand>::iterator self;
  InHand* next_in_bucket = nullptr;
  size_t bucket = 0;
};

class NamesInHand {
 public:
  // `capacity`: of names waiting or ready, and again of names in flight.
  explicit NamesInHand(size_t capacity);

  InHand* find(std::string_view name);
  // The name is not in hand yet. Its stage is kTaken: the caller decides what becomes of it.
  InHand& take(std::string_view name);

  // Moves an entry to another stage.
  void wait(InHand& entry, SteadyTime due);
  void make_ready(InHand& entry) { move(entry, InHand::Stage::kReady); }
  void fly(InHand& entry) { move(entry, InHand::Stage::kInFlight); }
  void drop(InHand& entry);

  // The next ready name, or else the next waiting one that is due, as kTaken; null when there is
  // none.
  InHand* next(SteadyTime now);
  // When the next waiting name is due; time_point::max() when there is none.
  SteadyTime next_due() const;
  bool has_ready() const { return !ready_.empty(); }

  bool is_full() const { return waiting_.size() + ready_.size() >= capacity_; }
  bool is_flying_full() const { return in_flight_.size() >= capacity_; }
  size_t in_flight() const { return in_flight_.size(); }

  // Forgets all names that are not in flight: the folder is another one.
  void drop_all_at_rest();

 private:
  void move(InHand& entry, InHand::Stage stage);
  std::list<InHand>& list_of(InHand::Stage stage);

  const size_t capacity_;
  std::vector<InHand*> buckets_;  // a power of two of chains, by the name's hash
  std::list<InHand> waiting_;     // in the order of `due`
  std::list<InHand> ready_;
  std::list<InHand> taken_;
  std::list<InHand> in_flight_;
  std::list<InHand> free_;
};

}  // namespace girdle::intake
