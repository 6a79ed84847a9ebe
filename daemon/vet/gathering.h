// What the processes of one check told, gathered into it.
//
// For one thread.
#pragma once

#include <cstdint>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "vet/apart.h"
#include "vet/report.h"

namespace girdle::vet {

class Gathering {
 public:
  // Both live longer than this. `known`: rules that earlier checks told; neither a breach of one
  // nor what follows from it is told again.
  Gathering(Check& check, const std::set<std::string>& known) : check_(check), known_(known) {}

  void take(const Message& message);
  // `change`: the number of the changed sample that showed it; 0 = as it is.
  void fault(const std::string& rule, const std::string& where, const std::string& what,
             const std::string& right, int64_t change);

  // Faults, by their place in the check, and the numbers of the changes that showed them, since
  // last asked.
  std::vector<std::pair<size_t, int64_t>> take_changes() { return std::exchange(changes_, {}); }

 private:
  // From what an earlier check told.
  bool follows(std::string_view rule) const;
  Fault* find(std::string_view rule);
  void times(const std::string& rule, int64_t more);
  void note(const std::string& text);
  void measure(const std::string& name, int64_t value, const std::string& unit);

  Check& check_;
  const std::set<std::string>& known_;
  std::vector<std::pair<size_t, int64_t>> changes_;
};

}  // namespace girdle::vet
