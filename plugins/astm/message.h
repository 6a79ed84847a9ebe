// The records that enclose a result: the header H, the patient P and the order O of the message at
// hand.
//
// They are nested: a new one ends those below it. Where it is not certain which record encloses a
// result, none does.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "astm/delimiters.h"
#include "astm/record_fields.h"
#include "kit/saved_state.h"

namespace girdle::astm {

class Message {
 public:
  enum class Level { kHeader, kPatient, kOrder };

  Message(bool decodes_escapes, uint64_t most_fields);

  // A message has begun and not ended.
  bool is_open() const { return of(Level::kHeader).known != Known::kMissing; }
  // Those of its header; nothing where that could not be read, and outside of a message.
  const std::optional<Delimiters>& delimiters() const { return delimiters_; }

  // A record of this level came. Why it cannot be used, for a shop's administrator; nothing where
  // it can. Either way it is the one that encloses what follows.
  std::optional<std::string> begin(Level level, std::string_view record);
  void end();
  // A record came that may have been any but a header.
  void doubt();

  // Why no result can be made here; nothing where one can.
  std::optional<std::string> fault() const;
  // Calls take(fields) with those of each level.
  template <class Take>
  void each(Take take) const {
    for (const Entry& entry : entries_) take(entry.fields);
  }

  void save(kit::StateWriter& state) const;
  // False: the state is none.
  bool resume(kit::StateParser& state);

 private:
  // The numbers are in saved states.
  enum class Known { kMissing, kYes, kUnreadable, kDoubtful };
  struct Entry {
    Known known = Known::kMissing;
    std::string record;  // kYes
    RecordFields fields;
  };
  static constexpr size_t kLevels = 3;

  const Entry& of(Level level) const { return entries_[static_cast<size_t>(level)]; }
  std::optional<std::string> read(Level level, std::string_view record);
  std::optional<std::string> place_fault(Level level) const;

  std::optional<Delimiters> delimiters_;
  Entry entries_[kLevels];
};

}  // namespace girdle::astm
