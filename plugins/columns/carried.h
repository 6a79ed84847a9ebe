// The fields that lines of some kinds lend to the records that follow them.
//
// Kinds are nested in the order of the layout: a line of one ends what was carried of those behind
// it. Where it is not certain which line's fields belong to a record, there are none.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "columns/layout.h"
#include "kit/saved_state.h"

namespace girdle::columns {

class Carried {
 public:
  // `kinds` lives longer than this.
  explicit Carried(const std::vector<LineKind>& kinds);

  // A line of this kind came, with a value for each of its names.
  void set(size_t kind, const std::vector<std::string_view>& values);
  // A line of this kind came that could not be read.
  void set_unreadable(size_t kind);
  // A line came that may have been of any kind.
  void doubt();

  // Why no record can be made now; nothing where one can.
  std::optional<std::string> fault() const;
  // Calls take(value) with each value, in the order of the kinds and their names.
  template <class Take>
  void each(Take take) const {
    for (const Entry& entry : entries_) {
      for (const std::string& value : entry.values) take(value);
    }
  }

  void save(kit::StateWriter& state) const;
  // False: the state is none.
  bool resume(kit::StateParser& state);

 private:
  // The numbers are in saved states.
  enum class Known { kMissing, kYes, kUnreadable, kDoubtful };
  struct Entry {
    size_t kind = 0;
    Known known = Known::kMissing;
    std::vector<std::string> values;
  };
  void end_behind(size_t kind);
  Entry& of(size_t kind);

  const std::vector<LineKind>& kinds_;
  std::vector<Entry> entries_;  // of the kinds that are carried
};

}  // namespace girdle::columns
