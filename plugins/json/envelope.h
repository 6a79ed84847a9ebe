// The JSON around the records: which bytes are structure, where a record begins, what is passed
// over. A machine that is asked at each byte that is not white space and not inside a value that it
// has handed out.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "kit/saved_state.h"

namespace girdle::json {

class Envelope {
 public:
  // The kind of value that the document must be.
  enum class Root { kAny, kObject, kArray };

  enum class Step {
    kStructure,  // the byte is a mark of the envelope; go on after it
    kRecord,     // a record, or what should be one, begins here; value_ended() after it
    kPassOver,   // a value that is no record begins here; value_ended() after it
    kName,       // a member's name begins here; named() after it
    kFault,      // this is not the JSON that was expected: fault()
  };

  // `tokens` lead to the records (pointer_tokens); "-" where an array is leads to each of its
  // elements. At most 32.
  Envelope(std::vector<std::string> tokens, Root root) : tokens_(std::move(tokens)), root_(root) {}

  Step step(char c);
  void value_ended() { state_ = levels_.empty() ? State::kEnd : State::kNext; }
  // False where the name is the one that leads to the records, for the second time.
  bool named(std::string_view name);

  std::string_view fault() const { return fault_; }
  // Anything but white space was there.
  bool begun() const { return state_ != State::kValue || !levels_.empty(); }
  // The document is complete.
  bool ended() const { return state_ == State::kEnd; }
  // Whether the records' place was reached.
  bool found() const { return found_; }
  // How many objects are open.
  size_t objects() const;

  void save(kit::StateWriter& state) const;
  void take_up(kit::StateParser& state);

 private:
  // The numbers are in saved states.
  enum class State { kValue, kValueOrEnd, kName, kNameOrEnd, kColon, kNext, kEnd };
  enum class Kind { kObject, kArray, kRecords };
  struct Level {
    Kind kind;
    bool seen = false;   // kObject: the name that leads on was there
    uint64_t index = 0;  // kArray: of the element at hand
  };

  Step value(char c);
  Step target(char c);
  Step enter(Kind kind, State state);
  Step leave(char c);
  Step next(char c);
  Step refuse(std::string_view fault);
  bool leads_on() const;
  bool leads_to_each() const;

  std::vector<std::string> tokens_;
  Root root_;
  std::vector<Level> levels_;
  State state_ = State::kValue;
  bool wanted_ = true;  // the value that comes is on the way to the records
  bool found_ = false;
  std::string_view fault_;
};

}  // namespace girdle::json
