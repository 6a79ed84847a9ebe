// The insides of a Ledger: its connection, its statements (prepared when first used) and its name tables.
#pragma once

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

  ~State();

  // The statement, prepared; callers use it only when this is ok.
  base::Result<void> ready(Statement& statement, const char* sql);
  base::Result<bool> is_new_last(Number instrument, const std::string& slot_order);
  base::Result<void> add_attempt(Number delivery, int64_t number, const AttemptRow& attempt);
  // The first of the case's deliveries that wait for the outlet gets a time: its number, or 0.
  base::Result<Number> make_next_head(Number outlet, Number case_number, base::Instant due);
  base::Result<Number> name_number(Statement& insert, const char* sql, NumberByText& known, std::string_view text);
};

// Runs of the program's own SQL cannot fail to prepare on a sound ledger, so every user goes through this.
#define GIRDLE_READY(statement, sql) \
  if (auto ready_ = state_->ready(state_->statement, sql); !ready_) return ready_.error()

}  // namespace girdle::ledger
