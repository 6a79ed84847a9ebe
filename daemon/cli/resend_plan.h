// What sending again would do, found out without doing it: for `girdled resend --dry-run`, beside a service at work.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <utility>

#include "base/result.h"
#include "ledger/ledger.h"

namespace girdle::cli {

// By the rules of Ledger::resend. On one ledger that is open for reading, which it uses while it lives.
class ResendPlan {
 public:
  enum class Fate {
    kAgain,      // would wait again
    kOvertaken,  // would stay as it is: a later outcome of its case has its place
    kWaiting,    // waits; would be due now
  };
  using Each = std::function<void(const ledger::DeliveryRow& row, const std::string& outlet, const std::string& key, Fate fate)>;

  explicit ResendPlan(ledger::Ledger& ledger) : ledger_(ledger) {}

  // Every delivery that is meant, the newest first; none where the selection only narrows.
  base::Result<ledger::Resent> look(const ledger::Selection& selection, const Each& each);

 private:
  struct Reach {
    int64_t last = 0;         // sequence of the case's last delivery to the outlet
    int64_t last_on_way = 0;  // of those that were sent, or wait
  };
  base::Result<bool> is_meant(const ledger::Selection& selection, const ledger::DeliveryRow& row);
  base::Result<Fate> fate_of(const ledger::DeliveryRow& row, const std::string& outlet);
  base::Result<Reach> reach_of(const ledger::DeliveryRow& row, const std::string& outlet);

  ledger::Ledger& ledger_;
  std::map<std::pair<ledger::Number, ledger::Number>, Reach> reaches_;  // by case and outlet
};

}  // namespace girdle::cli
