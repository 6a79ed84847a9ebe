// girdled deliveries.
#include <algorithm>
#include <map>
#include <ostream>

#include "base/json.h"
#include "base/text.h"
#include "base/time.h"
#include "cli/list_filter.h"
#include "cli/open_ledger.h"
#include "cli/table_view.h"
#include "service/story.h"

namespace girdle::cli {
namespace {

using base::Millis;
using base::Result;
using ledger::AttemptRow;
using ledger::DeliveryRow;

// Of a stock number, or of a case by its id.
Result<ledger::Filter> delivery_filter(ledger::Ledger& ledger, const ListOptions& options) {
  auto filter = filter_of(options);
  if (!filter) return filter;
  filter->case_number = ledger.case_number(options.stock_number).value_or(0);
  if (filter->case_number != 0) filter->stock_number.clear();
  return filter;
}

// Roughly, and short: the exact time is for programs.
std::string about(Millis wait) {
  const auto whole = [&](int64_t unit) { return std::to_string((wait.count() + unit / 2) / unit); };
  if (wait < std::chrono::minutes(2)) return whole(1'000) + 's';
  if (wait < std::chrono::hours(2)) return whole(60'000) + "min";
  if (wait < std::chrono::hours(48)) return whole(3'600'000) + 'h';
  return whole(86'400'000) + 'd';
}

class DeliveryList {
 public:
  DeliveryList(Screen& screen, OpenLedger& open, const ListOptions& options)
      : screen_(screen), open_(open), options_(options), now_(base::SystemClock().now()) {}

  Result<void> print() {
    auto filter = delivery_filter(*open_.ledger, options_);
    if (!filter) return filter.error();
    auto outlets = open_.ledger->outlets();
    if (!outlets) return outlets.error();
    for (const ledger::OutletRow& outlet : *outlets) {
      if (!outlet.closed.empty() || !outlet.paused.empty()) stopped_[outlet.number] = outlet.closed.empty() ? "paused" : "closed";
    }
    Result<void> asked;
    auto done = open_.ledger->each_delivery(*filter, [&](const DeliveryRow& row, const std::string& outlet, const std::string& key) {
      if (!asked) return;
      auto attempts = options_.why || options_.json ? open_.ledger->attempts_of(row.id) : std::vector<AttemptRow>();
      if (!attempts) {
        asked = attempts.error();
        return;
      }
      if (options_.json) return print_json(row, outlet, key, *attempts);
      add(row, outlet, key, *attempts);
    });
    if (!done) return done;
    if (!asked || options_.json) return asked;
    if (table_.empty()) {
      screen_.err << "No deliveries.\n";
    } else {
      table_.print(screen_);
    }
    return {};
  }

 private:
  std::string next_of(const DeliveryRow& row) const {
    if (row.state != model::DeliveryState::kWaiting) return {};
    if (const auto stopped = stopped_.find(row.outlet); stopped != stopped_.end()) return stopped->second;
    if (!row.due) return "in turn";  // after an earlier outcome of its case
    const Millis wait = *row.due - now_;
    return wait < Millis(500) ? "now" : "in " + about(wait);
  }

  void add(const DeliveryRow& row, const std::string& outlet, const std::string& key, const std::vector<AttemptRow>& attempts) {
    const std::string why = service::last_answer(row);
    table_.add({std::to_string(row.id), key + ' ' + std::to_string(row.sequence), outlet, std::string(model::text(row.state)),
                std::to_string(row.made), next_of(row), base::excerpt(why, why.size())});
    if (!options_.why) return;
    const int64_t older = row.made - static_cast<int64_t>(attempts.size());
    if (older > 0) table_.add_below("    " + base::counted(static_cast<uint64_t>(older), "attempt") + " before, only counted by now");
    for (const AttemptRow& attempt : attempts) table_.add_below("    " + told(attempt));
    if (!row.reference.empty()) table_.add_below("    known to the receiver as " + base::excerpt(row.reference, 200));
  }

  // "3  2026-11-02 11:15:30 +01:00  120ms  503 the till is busy"
  std::string told(const AttemptRow& attempt) const {
    std::string text = std::to_string(attempt.number) + "  " + local_time(attempt.at, open_.settings.timezone) + "  " +
                       std::to_string(attempt.took.count()) + "ms  ";
    if (attempt.status != 0) text += std::to_string(attempt.status) + ' ';
    text += attempt.note.empty() ? "taken" : base::excerpt(attempt.note, attempt.note.size());
    if (!attempt.answer.empty() && !attempt.note.empty()) text += "  " + base::in_quotes(attempt.answer, 200);
    return text;
  }

  void print_json(const DeliveryRow& row, const std::string& outlet, const std::string& key,
                  const std::vector<AttemptRow>& attempts) const {
    const std::string case_id = open_.ledger->case_id(row.case_number);
    const std::string due = row.due ? base::format_rfc3339(*row.due) : std::string();
    std::string out;
    base::JsonWriter json(out);
    json.begin_object().member("id", std::string_view(case_id + "-" + std::to_string(row.sequence)));
    json.member("delivery", int64_t{row.id}).member("outlet", std::string_view(outlet));
    json.member("stock_number", std::string_view(key)).member("case", std::string_view(case_id));
    json.member("sequence", row.sequence).member("state", model::text(row.state));
    json.member("attempts", row.made).member("status", int64_t{row.status}).member_or_null("due", due);
    json.member("note", std::string_view(row.note)).member_or_null("reference", row.reference);
    json.member("changed_at", std::string_view(base::format_rfc3339(row.changed_at)));
    const auto stopped = stopped_.find(row.outlet);
    json.member_or_null("stopped", stopped == stopped_.end() ? std::string_view() : stopped->second);
    json.key("tries").begin_array();
    for (const AttemptRow& attempt : attempts) {
      json.begin_object().member("number", attempt.number);
      json.member("at", std::string_view(base::format_rfc3339(attempt.at))).member("took_ms", attempt.took.count());
      json.member("status", int64_t{attempt.status}).member_or_null("note", attempt.note);
      json.member_or_null("answer", attempt.answer).end_object();
    }
    json.end_array().end_object();
    screen_.out << out << '\n';
  }

  Screen& screen_;
  OpenLedger& open_;
  const ListOptions& options_;
  base::Instant now_;
  std::map<ledger::Number, std::string> stopped_;  // outlets to which nothing goes, and how they are called for it
  TableView table_{{"ID", "STOCK NUMBER", "OUTLET", "STATE", "TRIES", "NEXT", "LAST ANSWER"}};
};

}  // namespace

int list_deliveries(Screen& screen, const std::filesystem::path& config, const ListOptions& options) {
  auto open = open_ledger(config);
  if (!open) return fail(screen, open.error());
  auto done = DeliveryList(screen, *open, options).print();
  return done ? 0 : fail(screen, done.error());
}

}  // namespace girdle::cli
