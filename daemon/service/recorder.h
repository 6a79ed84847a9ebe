// Brings records into the ledger and the ledger's cases up to date: the incremental form of casework.
//
// casework/ says what follows from a set of records; the recorder finds out which part of the set a new record touches,
// reads that part from the ledger, asks casework, and writes what changed. The result is the same whatever the order
// and the batches (promise 3); tests compare it with casework over the whole set at once.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "api/desk.h"
#include "api/feed.h"
#include "api/meters.h"
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

struct RecordCounts {
  uint64_t readings = 0, duplicates = 0, corrections = 0;  // duplicates of readings; corrections are readings too
  uint64_t declarations = 0, duplicate_declarations = 0, scans = 0, asides = 0, outcomes = 0;
  uint64_t ignored = 0;  // raw records that the mapping says are no results
  uint64_t settled = 0;  // asides of a document that was read again, which are none any more

  RecordCounts operator-(const RecordCounts& before) const;
  RecordCounts& operator+=(const RecordCounts& more);
};

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
  // Not 0: a document that is in the ledger already, read again because a mapping was mended. It gets no new row; what
  // was read before stays as it was and is no duplicate; with the last piece, what was set aside and is not any more is
  // settled. `document` is what it was; `position` and `whole_file` do not count.
  ledger::Number again = 0;
  // With the last piece: all of the document, and the reader's state at its beginning, for reading it again. Kept where
  // some of it was set aside. Null: it is too large to be kept.
  std::shared_ptr<const std::string> bytes;
  std::string resume;
  std::shared_ptr<RecordCounts> counts;  // of this batch, without outcomes; read when it is durable. May be null

  size_t cost() const { return 1 + records.size(); }
};

// What decides from now on, what answers beside it without being delivered, and who may hear.
struct Adoption {
  Rules rules;
  std::optional<Rules> shadow;
  std::vector<std::string> outlets;
};

// What became of a person's deed; nothing has changed unless it is kDone.
struct HandFate {
  using Kind = api::DeedAnswer::Kind;
  Kind kind = Kind::kDone;
  std::string text;  // why not
  std::string key;   // the subject's
  ledger::Number case_number = 0;  // of a reading that was bound: the open case that it is in; 0 = none
  int64_t sequence = 0;            // of that case's last outcome
};

// Written by one thread, inside the ledger's transactions: add() for each batch, then settle(), then the caller commits
// and tells committed(), or rolls back and tells rolled_back(). Batches must live until then. What persons say comes
// between: bind() like a batch, decide_by_hand() with a settle() of its own before it.
class Recorder {
 public:
  Recorder(ledger::Ledger& ledger, const base::Clock& clock, std::string site);

  // From the next batch on; inside a transaction. A policy that was not in force before comes into force: the ledger
  // is told so.
  base::Result<void> adopt(const Adoption& adoption);

  base::Result<void> add(const Batch& batch);
  // A reading gets the stock number that a person gives. The fate tells `key`; the case follows with settle().
  base::Result<HandFate> bind(const api::Bind& deed);
  // A person decides a case. Settles what was added before, so that it is the case as it is now.
  base::Result<HandFate> decide_by_hand(const api::DecideByHand& deed, std::vector<model::Delivery>& fresh, size_t limit);
  // Evaluates every subject that the batches touched. Appends the deliveries that may go out at once, at most
  // `limit` of them; the ledger has the rest.
  base::Result<void> settle(std::vector<model::Delivery>& fresh, size_t limit);
  void committed();
  void rolled_back();
  // Where what is durable is counted; null = nowhere.
  void count_into(api::Meters* meters) { meters_ = meters; }
  // Whether happening() is to tell which cases were decided, from the next transaction on.
  void watch(bool watched) { is_watched_ = watched; }
  // What the transaction under way changed, but for marks of deliveries. Between settle() and committed().
  api::Happening happening() const;

  // The case in which a reading is that was bound, after settle(): into the fate.
  base::Result<void> find_case(const api::Bind& deed, HandFate& fate);
  // The delivery with all that its outlet is told.
  base::Result<std::optional<model::Delivery>> delivery(ledger::Number id);

  using Counts = RecordCounts;
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
  struct OpenDocument {
    Number number = 0;
    bool any_aside = false;
  };
  // The live measurements of a subject in a stretch of time, with what they lend.
  struct Measured {
    std::vector<ledger::StoredReading> loaded;
    std::vector<model::Reading> joined;
    std::vector<casework::Measurement> list;
  };
  // What the policy says of a case.
  struct Evaluated {
    ledger::OutcomeRow outcome;  // without sequence, time, duplicates and measured
    const model::Declaration* declared = nullptr;  // one of the claims
  };
  // A case in the making: its measurements in the order of time.
  struct Part {
    std::vector<casework::Measurement> measurements;
    base::Instant from{}, to{};
  };

  void forget_transaction();
  base::Result<void> add_records(const Batch& batch);
  base::Result<void> begin_document(const Batch& batch);
  base::Result<void> end_document(const Batch& batch);
  base::Result<void> add_again(const Batch& batch);
  base::Result<void> add_contents(const Batch& batch, base::Instant now);
  // Of a document that is read again: the record, which is now another or the same, was read before.
  base::Result<bool> was_read(const model::Reading& reading, int64_t content);
  base::Result<bool> was_read(const model::Declaration& declaration, Number subject, int64_t content);
  void count_committed();
  void count_reading(Number instrument, const model::Reading& reading);
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

  base::Result<void> look_again_at(const ledger::StoredReading& reading);
  base::Result<HandFate> put_hand_outcome(ledger::CaseRow row, const api::DecideByHand& deed);
  base::Result<void> settle_touched();
  base::Result<void> settle_windows();
  base::Result<void> give_hand_bindings(std::vector<ledger::StoredReading>& readings);
  base::Result<void> settle_component(std::vector<ledger::StoredReading> readings, const casework::InstrumentRules& rules);
  base::Result<void> relink(const ledger::StoredReading& before, Number subject, Number pair);
  base::Result<std::vector<Number>> intakes_of(const ledger::StoredReading& reading);
  base::Result<Number> bound_subject(const model::Reading& reading, const casework::InstrumentRules& rules);

  base::Result<void> settle_subject(Number subject, Touched& touched);
  base::Result<std::optional<Number>> claim_for(const std::vector<ledger::StoredDeclaration>& claims, base::Instant last,
                                                size_t* index);
  base::Result<void> decide_case(ledger::CaseRow row, bool fresh_case, const Part& part,
                                 const std::vector<ledger::StoredDeclaration>& claims, Number merged_into);
  base::Result<void> measure(Number subject, base::Instant from, base::Instant to, Measured& out);
  base::Result<Evaluated> evaluate(Number case_number, const Part& part,
                                   const std::vector<ledger::StoredDeclaration>& claims, Number merged_into);
  base::Result<std::optional<ledger::OutcomeRow>> last_of_policy(const ledger::OutcomeRow& last);
  // Numbers it, writes it, tells of it.
  base::Result<void> put_outcome(ledger::OutcomeRow outcome, const Part& part, const model::Declaration* declared);
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
  Number again_ = 0;     // the same, where it is read again; else 0
  // By intake: documents whose last piece is still to come; as of now, and as of the last commit.
  std::unordered_map<std::string, OpenDocument> open_documents_, committed_documents_;
  // By document: when reading it again began, until its last piece; as of now, and as of the last commit.
  std::unordered_map<Number, base::Instant> again_since_, committed_again_since_;
  Counts counts_, new_counts_;
  uint64_t tried_asides_ = 0;  // of new_counts_, those that were met when a document was read again
  bool has_bindings_ = false;  // by hand; true too soon does no harm
  bool is_watched_ = false;
  std::vector<api::Happening::Decided> decided_;
  api::Meters* meters_ = nullptr;
  struct ReadingCount {
    uint64_t readings = 0, voids = 0;
  };
  std::unordered_map<Number, ReadingCount> new_readings_;  // by instrument; where meters count
  std::array<uint64_t, 5> new_outcomes_{};                 // by disposition
  uint64_t new_by_hand_ = 0;
  Number receipts_end_ = 0;  // readings from this number on have no receipts; too high does no harm
  std::vector<model::Delivery>* fresh_ = nullptr;
  size_t fresh_limit_ = 0;

  model::ContentNumbers content_;
  std::string scratch_;
  std::vector<ledger::Same> same_;
};

}  // namespace girdle::service
