// Brings records into the ledger and the ledger's cases up to date: the incremental form of casework.
//
// casework/ says what follows from a set of records; the recorder finds out which part of the set a new record touches,
// reads that part from the ledger, asks casework, and writes what changed. The result is the same whatever the order
// and the batches (promise 3); tests compare it with casework over the whole set at once.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "base/clock.h"
#include "base/result.h"
#include "casework/house.h"
#include "casework/weigh.h"
#include "ledger/ledger.h"
#include "model/content.h"
#include "model/outcome.h"
#include "model/position.h"
#include "model/record.h"
#include "service/house_builder.h"
#include "service/house_shelf.h"

namespace girdle::service {

// One document, or a piece of one, as it comes from an intake. Pieces of one document come in order.
struct Batch {
  model::Document document;
  model::Records records;
  std::vector<int64_t> contents;  // model::ContentNumbers of the readings; what is missing the recorder works out
  bool first = true;
  bool last = true;
  bool only_position = false;  // no document: the file's content is known, only its position moves
  bool whole_file = false;  // its digest is remembered, so that the same bytes are not read again
  std::optional<model::FilePosition> position;  // moves with the last piece

  size_t cost() const { return 1 + records.size(); }
};

// What decides from now on, what answers beside it without being delivered, and who may hear.
struct Adoption {
  Rules rules;
  std::optional<Rules> shadow;
  std::vector<std::string> outlets;
};

// Written by one thread, inside the ledger's transactions: add() for each batch, then settle(), then the caller commits
// and tells committed(), or rolls back and tells rolled_back(). Batches must live until then.
class Recorder {
 public:
  Recorder(ledger::Ledger& ledger, const base::Clock& clock, std::string site);

  // From the next batch on; inside a transaction. A policy that was not in force before comes into force: the ledger
  // is told so.
  base::Result<void> adopt(const Adoption& adoption);

  base::Result<void> add(const Batch& batch);
  // Evaluates every subject that the batches touched. Appends the deliveries that may go out at once, at most
  // `limit` of them; the ledger has the rest.
  base::Result<void> settle(std::vector<model::Delivery>& fresh, size_t limit);
  void committed();
  void rolled_back();

  // The delivery with all that its outlet is told.
  base::Result<std::optional<model::Delivery>> delivery(ledger::Number id);

  struct Counts {
    uint64_t readings = 0, duplicates = 0, corrections = 0;  // duplicates of readings; corrections are readings too
    uint64_t declarations = 0, duplicate_declarations = 0, scans = 0, asides = 0, outcomes = 0;
    uint64_t ignored = 0;  // raw records that the mapping says are no results
  };
  // Of everything committed so far.
  const Counts& counts() const { return counts_; }

 private:
  using Number = ledger::Number;

  struct Fresh {
    Number id;
    const model::Reading* reading;
  };
  // A subject that something touched in this transaction.
  struct Touched {
    bool fresh = false;     // made in this transaction: all its readings are in `added`
    bool declared = false;  // every case of it is looked at again
    bool any = false;       // [from, to] holds
    base::Instant from{}, to{};
    std::vector<Fresh> added;

    void touch(base::Instant at);
  };
  struct Window {
    Number instrument;
    base::Instant from, to;
  };
  struct PendingReceipt {
    Number first = 0;
    int64_t count = 0;
    Number document = 0;
    base::Instant came_at{};
    uint64_t offset = 0;
  };
  // A case in the making: its measurements in the order of time.
  struct Part {
    std::vector<casework::Measurement> measurements;
    base::Instant from{}, to{};
  };

  void forget_transaction();
  base::Result<void> add_reading(const model::Reading& reading, int64_t content, const Batch& batch);
  base::Result<void> add_duplicate(const ledger::Same& same, const Batch& batch, Number instrument,
                                   const model::Reading& reading);
  base::Result<void> settle_corrections(Number instrument, const model::Reading& reading);
  base::Result<void> add_declaration(const model::Declaration& declaration, const Batch& batch);
  base::Result<void> add_scan(const model::Scan& scan);
  base::Result<void> flush_receipts(ledger::Ledger::ReceiptKind kind);
  // `alone`: in a row of its own, so that its offset is kept.
  base::Result<void> note_receipt(ledger::Ledger::ReceiptKind kind, Number id, base::Instant came_at, uint64_t offset,
                                  bool alone = false);

  base::Result<void> settle_windows();
  base::Result<void> settle_component(std::vector<ledger::StoredReading> readings, const casework::InstrumentRules& rules);
  base::Result<void> relink(const ledger::StoredReading& before, Number subject, Number pair);
  base::Result<std::vector<Number>> intakes_of(const ledger::StoredReading& reading);
  base::Result<Number> bound_subject(const model::Reading& reading, const casework::InstrumentRules& rules);

  base::Result<void> settle_subject(Number subject, Touched& touched);
  base::Result<std::optional<Number>> claim_for(const std::vector<ledger::StoredDeclaration>& claims, base::Instant last,
                                                size_t* index);
  base::Result<void> decide_case(ledger::CaseRow row, bool fresh_case, const Part& part,
                                 const std::vector<ledger::StoredDeclaration>& claims, Number merged_into);
  base::Result<void> note_activation(const Rules& rules);
  base::Result<void> note_shadow(const ledger::OutcomeRow& outcome, const Part& part, const model::Declaration* declared);
  base::Result<void> tell(const ledger::OutcomeRow& outcome);
  base::Result<std::vector<Number>> listeners(const ledger::OutcomeRow& outcome);
  base::Result<Number> subject_number(std::string_view key);

  ledger::Ledger& ledger_;
  const base::Clock& clock_;
  std::string site_;
  HouseShelf shelf_{ledger_};
  std::shared_ptr<const casework::House> house_, shadow_;  // shadow_ may be null
  Number house_number_ = 0, shadow_number_ = 0;
  struct Outlet {
    std::string name;
    Number number = 0;
  };
  std::vector<Outlet> outlets_;

  // Of the transaction under way.
  std::unordered_map<std::string, Number> keys_;
  std::unordered_map<Number, Touched> touched_;
  std::vector<Window> windows_;
  PendingReceipt pending_[2];
  Number intake_ = 0;    // of the batch
  Number document_ = 0;  // of the batch's document; kept from piece to piece
  // By intake: documents whose last piece is still to come; as of now, and as of the last commit.
  std::unordered_map<std::string, Number> open_documents_, committed_documents_;
  Counts counts_, new_counts_;
  Number receipts_end_ = 0;  // readings from this number on have no receipts; too high does no harm
  std::vector<model::Delivery>* fresh_ = nullptr;
  size_t fresh_limit_ = 0;

  model::ContentNumbers content_;
  std::string scratch_;
  std::vector<ledger::Same> same_;
};

}  // namespace girdle::service
