// Sending again. The order per case holds: of a case and an outlet nothing goes out after a later outcome of it.
#include <functional>
#include <map>

#include "ledger/pattern.h"
#include "ledger/rows.h"
#include "ledger/state.h"

namespace girdle::ledger {
namespace {

using base::Result;
using base::to_millis;
using model::DeliveryState;

// So many deliveries, or subjects, are held in memory at a time.
constexpr size_t kSlice = 1000;
// And of so many cases how far they are.
constexpr size_t kMostReaches = 10'000;

struct Picked {
  Number id = 0, outlet = 0, case_number = 0;
  int64_t sequence = 0;
  DeliveryState state = DeliveryState::kWaiting;
};

// How far the deliveries of one case to one outlet are: sequences, 0 = there is none.
struct Reach {
  int64_t last = 0;          // of all
  int64_t last_on_way = 0;  // of those that were sent, if only once, or wait
};

class Resending {
 public:
  using Look = std::function<Result<void>(Number delivery, ResendFate fate)>;

  using Again = std::function<void(Number outlet, DeliveryState before)>;

  // `outlet`: only of this one; 0 = of all. `again` hears of each delivery that is made to wait again.
  Resending(Database& database, const Selection& selection, Number outlet, Again again = nullptr)
      : database_(database), selection_(selection), outlet_(outlet), again_(std::move(again)) {}

  Result<Resent> run(base::Instant now) {
    auto done = prepare_changes();
    if (!done) return done.error();
    return walk([&](const Picked& picked, ResendFate fate) { return change(picked, fate, to_millis(now)); });
  }

  Result<Resent> look(const Look& each) {
    return walk([&](const Picked& picked, ResendFate fate) { return each(picked.id, fate); });
  }

 private:
  using Each = std::function<Result<void>(const Picked& picked, ResendFate fate)>;

  Result<Resent> walk(const Each& each) {
    each_ = &each;
    auto done = select_back_.prepare(database_,
                                     "SELECT sequence, state IN (0, 1) OR told IS 1 FROM delivery "
                                     "WHERE case_number = ? AND outlet = ? ORDER BY sequence DESC");
    if (done) done = each_source();
    if (!done) return done.error();
    return resent_;
  }

  Result<void> prepare_changes() {
    const std::pair<Statement&, const char*> statements[] = {
        {send_again_,
         "UPDATE delivery SET told = CASE WHEN state = 1 THEN 1 ELSE told END, state = 0, "
         "made = coalesce(made, attempts), attempts = 0, changed_at = ?1, due_at = CASE WHEN EXISTS (SELECT 1 "
         "FROM delivery w WHERE w.case_number = delivery.case_number AND w.outlet = delivery.outlet AND w.state = 0 "
         "AND w.sequence < delivery.sequence) THEN NULL ELSE ?1 END WHERE id = ?2"},
        {make_due_,
         "UPDATE delivery SET due_at = ?1 WHERE due_at > ?1 AND id = (SELECT w.id FROM delivery w "
         "WHERE w.case_number = ?2 AND w.outlet = ?3 AND w.state = 0 ORDER BY w.sequence LIMIT 1)"},
    };
    for (const auto& [statement, sql] : statements) {
      if (auto done = statement.prepare(database_, sql); !done) return done;
    }
    return {};
  }

  // What is selected, from where it is found quickest.
  Result<void> each_source() {
    if (!selection_.stock_number.empty()) return each_subject();
    if (selection_.delivery != 0) return resend("WHERE d.id = ?1 AND d.id > ?2", selection_.delivery);
    if (selection_.parked) return each_outlet();
    if (selection_.since || selection_.until) return resend("WHERE ?1 = 0 AND d.id > ?2", 0);
    return {};
  }

  Result<void> each_subject() {
    Statement select;
    auto done = select.prepare(database_,
                               "SELECT id, key FROM subject WHERE key BETWEEN ?1 AND ?2 AND key > ?3 ORDER BY key LIMIT " +
                                   std::to_string(kSlice));
    if (!done) return done;
    const Pattern keys = pattern_of(selection_.stock_number);
    std::vector<Number> subjects;
    std::string last;
    do {
      subjects.clear();
      select.start().bind(std::string_view(keys.from)).bind(std::string_view(keys.to)).bind(std::string_view(last));
      std::string at;
      done = for_rows(select, [&](const Statement& row) {
        subjects.push_back(row.number(0));
        at = row.text(1);
      });
      last = std::move(at);
      for (size_t i = 0; done && i < subjects.size(); ++i) {
        // The pluses keep SQLite off the order of the numbers: it would look through all deliveries.
        done = resend("WHERE d.case_number BETWEEN ?1 << 16 AND (?1 << 16) + 65535 AND +d.id > ?2", subjects[i], "+d.id");
      }
    } while (done && subjects.size() == kSlice);
    return done;
  }

  Result<void> each_outlet() {
    std::vector<Number> outlets;
    Statement select;
    auto done = select.prepare(database_, "SELECT id FROM outlet ORDER BY id");
    if (done) done = for_rows(select.start(), [&](const Statement& row) { outlets.push_back(row.number(0)); });
    for (size_t i = 0; done && i < outlets.size(); ++i) {
      done = resend("INDEXED BY delivery_parked WHERE d.state = 2 AND d.outlet = ?1 AND d.id > ?2", outlets[i]);
    }
    return done;
  }

  // Slices of what `where` finds, by ascending number: of a case and an outlet that is the order of its outcomes. So what
  // is changed here is always earlier than what is still to be looked at, and does not overtake it.
  Result<void> resend(const char* where, Number number, const char* order = "d.id") {
    if (!pick_.prepared()) {  // a run has one kind of source
      const std::string sql = "SELECT d.id, d.outlet, d.case_number, d.sequence, d.state FROM delivery d " +
                              (where + narrower()) + " ORDER BY " + order + " LIMIT " + std::to_string(kSlice);
      if (auto done = pick_.prepare(database_, sql); !done) return done;
    }
    std::vector<Picked> slice;
    Number last = 0;
    do {
      slice.clear();
      auto done = for_rows(pick_.start().bind(number).bind(last), [&](const Statement& row) {
        slice.push_back({row.number(0), row.number(1), row.number(2), row.number(3),
                         static_cast<DeliveryState>(row.number(4))});
      });
      for (size_t i = 0; done && i < slice.size(); ++i) done = resend_one(slice[i]);
      if (!done) return done;
      if (!slice.empty()) last = slice.back().id;
    } while (slice.size() == kSlice);
    return {};
  }

  // Numbers stand in the text, which is made once a run.
  std::string narrower() const {
    std::string also;
    if (outlet_ != 0) also += " AND d.outlet = " + std::to_string(outlet_);
    if (selection_.delivery != 0) also += " AND d.id = " + std::to_string(selection_.delivery);
    if (selection_.parked) also += " AND d.state = 2";
    if (selection_.since || selection_.until) {
      const base::Instant since = selection_.since.value_or(base::Instant::min());
      const base::Instant until = selection_.until.value_or(base::Instant::max());
      also += " AND EXISTS (SELECT 1 FROM outcome o WHERE o.case_number = d.case_number AND o.sequence = d.sequence "
              "AND o.decided_at BETWEEN " +
              std::to_string(to_millis(since)) + " AND " + std::to_string(to_millis(until)) + ")";
    }
    return also;
  }

  Result<void> resend_one(const Picked& picked) {
    const auto fate = fate_of(picked);
    if (!fate) return fate.error();
    switch (*fate) {
      case ResendFate::kAgain: ++resent_.again; break;
      case ResendFate::kOvertaken: ++resent_.overtaken; break;
      case ResendFate::kWaiting: ++resent_.waiting; break;
    }
    return (*each_)(picked, *fate);
  }

  Result<ResendFate> fate_of(const Picked& picked) {
    if (picked.state == DeliveryState::kWaiting) return ResendFate::kWaiting;
    auto reach = reach_of(picked);
    if (!reach) return reach.error();
    const bool goes = picked.state == DeliveryState::kSent     ? picked.sequence == reach->last
                      : picked.state == DeliveryState::kParked ? picked.sequence >= reach->last_on_way
                                                               : false;
    return goes ? ResendFate::kAgain : ResendFate::kOvertaken;
  }

  Result<void> change(const Picked& picked, ResendFate fate, int64_t now) {
    switch (fate) {
      case ResendFate::kAgain:
        again_(picked.outlet, picked.state);
        return send_again_.start().bind(now).bind(picked.id).run();
      case ResendFate::kWaiting: return make_due_.start().bind(now).bind(picked.case_number).bind(picked.outlet).run();
      case ResendFate::kOvertaken: break;
    }
    return {};
  }

  // As it was before this run looked at the first of them.
  Result<Reach> reach_of(const Picked& picked) {
    const std::pair key(picked.case_number, picked.outlet);
    if (const auto at = reaches_.find(key); at != reaches_.end()) return at->second;
    Reach reach;
    select_back_.start().bind(picked.case_number).bind(picked.outlet);
    while (reach.last_on_way == 0) {
      auto row = select_back_.step();
      if (!row) return row.error();
      if (!*row) break;
      if (reach.last == 0) reach.last = select_back_.number(0);
      if (select_back_.number(1) != 0) reach.last_on_way = select_back_.number(0);
    }
    select_back_.reset();
    if (reaches_.size() == kMostReaches) reaches_.clear();
    reaches_.emplace(key, reach);
    return reach;
  }

  Database& database_;
  const Selection& selection_;
  const Number outlet_;
  const Again again_;
  const Each* each_ = nullptr;
  Statement pick_, select_back_, send_again_, make_due_;
  std::map<std::pair<Number, Number>, Reach> reaches_;  // by case and outlet
  Resent resent_;
};

}  // namespace

Result<Resent> Ledger::resend(const Selection& selection, base::Instant now) {
  const Number outlet = selection.outlet.empty() ? 0 : find_outlet(selection.outlet).value_or(0);
  if (!selection.outlet.empty() && outlet == 0) return Resent{};
  const auto again = [this](Number of, DeliveryState before) {
    state_->count_delivery(of, before, DeliveryState::kWaiting);
  };
  return Resending(state_->database, selection, outlet, again).run(now);
}

Result<Resent> Ledger::look_at_resend(const Selection& selection, const ResendLook& each) {
  const Number only = selection.outlet.empty() ? 0 : find_outlet(selection.outlet).value_or(0);
  if (!selection.outlet.empty() && only == 0) return Resent{};
  if (selection.delivery != 0) {
    auto row = delivery(selection.delivery);
    if (!row) return row.error();
    if (!*row) return base::input_error("there is no delivery " + std::to_string(selection.delivery));
  }
  auto known = outlets();
  if (!known) return known.error();
  std::map<Number, std::string> names;
  for (OutletRow& outlet : *known) names[outlet.number] = std::move(outlet.name);
  return Resending(state_->database, selection, only).look([&](Number id, ResendFate fate) -> Result<void> {
    auto row = delivery(id);
    if (!row) return row.error();
    if (*row) each(**row, names[(*row)->outlet], subject_key(subject_of((*row)->case_number)), fate);
    return {};
  });
}

}  // namespace girdle::ledger
