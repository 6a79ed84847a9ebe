// The insides of a Ledger: its connection, its statements (prepared when first used) and its name tables.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <unordered_map>

#include "ledger/ledger.h"
#include "ledger/sqlite.h"

namespace girdle::ledger {

struct TextHash {
  using is_transparent = void;
  size_t operator()(std::string_view text) const { return std::hash<std::string_view>()(text); }
};
using NumberByText = std::unordered_map<std::string, Number, TextHash, std::equal_to<>>;

struct Ledger::State {
  Database database;
  std::string name;
  int lock = -1;  // descriptor of the lock file; -1 for a reader
  uint64_t log_pages = 0;  // in the write-ahead log after the last commit

  // Small closed sets, kept whole. Emptied by a rollback: what was made in it never happened.
  NumberByText intakes, instruments, outlets;
  std::unordered_map<Number, std::string> intake_names, instrument_serials;
  std::unordered_map<Number, model::PolicyStamp> stamps;  // by house
  // By instrument: the last of its slots, as bytes that compare like them. Emptied by a rollback as well.
  std::unordered_map<Number, std::string> last_slots;
  // What the transaction under way changes of an instrument and of an outlet: written once, by commit().
  struct Seen {
    base::Instant measured_at = base::Instant::min(), came_at = base::Instant::min();
  };
  std::unordered_map<Number, Seen> seen;
  struct TotalChange {
    std::array<int64_t, 4> counts{};  // by state of a delivery
    std::optional<AttemptRow> last;
  };
  std::unordered_map<Number, TotalChange> total_changes;
  std::string scratch;

  Statement insert_intake, insert_instrument, insert_outlet, insert_subject, select_subject, insert_house, select_house;
  Statement insert_document, select_known, complete_document;
  Statement select_same, select_last_slot, insert_reading, update_reading_time, update_reading_links, update_near;
  Statement select_declaration, insert_declaration, insert_scan;
  Statement insert_receipt, next_receipt, insert_aside, upsert_position;
  Statement insert_case, update_case, insert_outcome, insert_activation, insert_shadow, insert_delivery, select_waiting, select_delivery, update_delivery,
      select_next_waiting, update_due, update_outlet, pause_outlet, resume_outlet, hasten, insert_attempt, count_attempts,
      delete_attempts;
  Statement select_intake, select_outlet, select_key, select_closed, select_position, select_readings, select_reading,
      select_near, select_scans, select_declarations, count_receipts, select_receipts,
      select_receipts_end, select_duplicate_intakes,
      select_cases, select_outcome, select_due, select_next_due, select_any_waiting, select_document, select_arrival,
      select_names,
      select_declaration_by_id, select_house_by_id, select_house_row, select_shadows, select_outlets_of, select_attempts,
      select_paused, select_later_waiting;
  Statement update_instrument, upsert_total, update_last_attempt, select_delivery_state;
  Statement insert_hand, select_hand, insert_binding, select_binding, insert_kept, select_kept,
      select_tried, settle_asides, insert_token, revoke_token;
  Statement select_case_line, select_aside, select_delivery_line, select_total, select_unsent, select_attempt_time,
      select_last_readings, select_has_receipt;

  ~State();

  // The statement, prepared; callers use it only when this is ok.
  base::Result<void> ready(Statement& statement, const char* sql);
  base::Result<bool> is_new_last(Number instrument, const std::string& slot_order);
  base::Result<void> add_attempt(Number delivery, int64_t number, const AttemptRow& attempt);
  // A delivery gets a state; nothing = it had none before.
  void count_delivery(Number outlet, std::optional<model::DeliveryState> before, model::DeliveryState after);
  void count_attempt(Number outlet, Number delivery, int64_t number, const AttemptRow& attempt);
  base::Result<void> add_hand(const OutcomeRow& row);
  base::Result<void> write_totals();
  base::Result<std::optional<AsideRow>> aside(Number id, bool with_bytes);
  base::Result<Next> merge_outlets(Ledger& ledger, const std::string& sql, std::optional<Number> only, const Page& page,
                                   const std::function<base::Result<bool>(Number)>& take);
  base::Result<void> write_total(Number outlet, const TotalChange& change);
  base::Result<base::Instant> waits_since(Number delivery, int64_t attempts, int64_t made, base::Instant changed_at);
  base::Result<std::optional<base::Instant>> oldest_waiting(Number outlet);
  base::Result<void> write_seen();
  void forget_changes();
  // The first of the case's deliveries that wait for the outlet gets a time: its number, or 0.
  base::Result<Number> make_next_head(Number outlet, Number case_number, base::Instant due);
  base::Result<Number> name_number(Statement& insert, const char* sql, NumberByText& known, std::string_view text);
};

// Runs of the program's own SQL cannot fail to prepare on a sound ledger, so every user goes through this.
#define GIRDLE_READY(statement, sql) \
  if (auto ready_ = state_->ready(state_->statement, sql); !ready_) return ready_.error()

}  // namespace girdle::ledger
