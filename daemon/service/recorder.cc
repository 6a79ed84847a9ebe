// The first half: records into the ledger, and what they touch.
#include "service/recorder.h"

#include <algorithm>

#include "casework/same.h"

namespace girdle::service {

using base::Instant;
using base::Result;
using ledger::Ledger;
using ledger::Number;
using ledger::Same;
using ledger::StoredReading;

namespace {

constexpr int64_t kReceiptRun = 1024;  // longest run of receipts in one row (schema)

bool earlier(Instant a, uint64_t a_offset, Instant b, uint64_t b_offset) {
  return a != b ? a < b : a_offset < b_offset;
}

constexpr uint64_t RecordCounts::* kCounts[] = {
    &RecordCounts::readings, &RecordCounts::duplicates, &RecordCounts::corrections, &RecordCounts::declarations,
    &RecordCounts::duplicate_declarations, &RecordCounts::scans, &RecordCounts::asides, &RecordCounts::outcomes,
    &RecordCounts::ignored, &RecordCounts::settled};

}  // namespace

RecordCounts RecordCounts::operator-(const RecordCounts& before) const {
  RecordCounts difference = *this;
  for (const auto count : kCounts) difference.*count -= before.*count;
  return difference;
}

RecordCounts& RecordCounts::operator+=(const RecordCounts& more) {
  for (const auto count : kCounts) this->*count += more.*count;
  return *this;
}

void Recorder::Touched::touch(Instant at) {
  from = any ? std::min(from, at) : at;
  to = any ? std::max(to, at) : at;
  any = true;
}

Recorder::Recorder(Ledger& ledger, const base::Clock& clock, std::string site)
    : ledger_(ledger), clock_(clock), site_(std::move(site)) {}

Result<void> Recorder::adopt(const Adoption& adoption) {
  house_ = adoption.rules.house;
  auto number = ledger_.house(house_->stamp, adoption.rules.text, clock_.now());
  if (!number) return number.error();
  house_number_ = *number;
  shelf_.put(house_number_, house_);
  if (auto done = note_activation(adoption.rules); !done) return done;
  shadow_ = adoption.shadow ? adoption.shadow->house : nullptr;
  if (shadow_) {
    auto shadow = ledger_.house(shadow_->stamp, adoption.shadow->text, clock_.now());
    if (!shadow) return shadow.error();
    shadow_number_ = *shadow;
  }
  outlets_.clear();
  for (const std::string& name : adoption.outlets) {
    auto outlet = ledger_.outlet(name);
    if (!outlet) return outlet.error();
    outlets_.push_back({name, *outlet});
  }
  auto receipts_end = ledger_.receipts_end(Ledger::ReceiptKind::kReading);
  if (!receipts_end) return receipts_end.error();
  receipts_end_ = *receipts_end;
  has_bindings_ = ledger_.has_bindings();
  // An instrument whose cycle was given later: its older readings must be found by time as well.
  for (const auto& [serial, rules_of_it] : house_->instruments) {
    if (rules_of_it.cycle.count() == 0) continue;
    auto instrument = ledger_.instrument(serial);
    if (!instrument) return instrument.error();
    if (auto done = ledger_.set_near(*instrument); !done) return done;
  }
  return {};
}

Result<void> Recorder::note_activation(const Rules& rules) {
  auto last = ledger_.last_activation();
  if (!last) return last.error();
  if (*last && (*last)->house == house_number_) return {};
  return ledger_.add_activation({house_number_, clock_.now(), rules.valid_from, rules.approved_by, rules.why});
}

Result<Number> Recorder::subject_number(std::string_view key) {
  scratch_ = key;
  if (const auto at = keys_.find(scratch_); at != keys_.end()) return at->second;
  bool fresh = false;
  auto number = ledger_.subject(key, &fresh);
  if (!number) return number;
  keys_.emplace(std::string(key), *number);
  touched_[*number].fresh = fresh;
  return number;
}

Result<void> Recorder::add(const Batch& batch) {
  const Counts before = new_counts_;
  auto done = add_records(batch);
  if (batch.counts) *batch.counts = new_counts_ - before;
  return done;
}

Result<void> Recorder::add_records(const Batch& batch) {
  auto intake = ledger_.intake(batch.document.intake);
  if (!intake) return intake.error();
  intake_ = *intake;
  if (batch.only_position) return ledger_.set_position(intake_, *batch.position);
  if (batch.again != 0) return add_again(batch);
  auto done = begin_document(batch);
  if (done) done = add_contents(batch, clock_.now());
  if (done && batch.last) done = end_document(batch);
  return done;
}

Result<void> Recorder::begin_document(const Batch& batch) {
  again_ = 0;
  OpenDocument open;
  if (batch.first) {
    auto document = ledger_.add_document(intake_, batch.document, clock_.now());
    if (!document) return document.error();
    open.number = *document;
  } else {
    const auto at = open_documents_.find(batch.document.intake);
    if (at == open_documents_.end()) return base::input_error("a piece of a document came without its beginning");
    open = at->second;
  }
  open.any_aside = open.any_aside || !batch.records.asides.empty();
  document_ = open.number;
  open_documents_[batch.document.intake] = open;
  return {};
}

Result<void> Recorder::end_document(const Batch& batch) {
  const auto at = open_documents_.find(batch.document.intake);
  const bool any_aside = at != open_documents_.end() && at->second.any_aside;
  open_documents_.erase(at);
  if (any_aside && batch.bytes) {
    if (auto done = ledger_.keep_document(document_, batch.resume, *batch.bytes); !done) return done;
  }
  if (batch.whole_file) {
    if (auto done = ledger_.complete_document(document_); !done) return done;
  }
  return batch.position ? ledger_.set_position(intake_, *batch.position) : Result<void>();
}

Result<void> Recorder::add_again(const Batch& batch) {
  // What the document told in this very transaction has to be found.
  for (const auto kind : {Ledger::ReceiptKind::kReading, Ledger::ReceiptKind::kDeclaration}) {
    if (auto done = flush_receipts(kind); !done) return done;
  }
  document_ = again_ = batch.again;
  if (batch.first) {
    auto begun = ledger_.begin_again(document_, clock_.now());
    if (!begun) return begun.error();
    again_since_[document_] = *begun;
  }
  const auto since = again_since_.find(document_);
  if (since == again_since_.end()) return base::input_error("a piece of a document came without its beginning");
  const Instant begun = since->second;
  if (auto done = add_contents(batch, begun); !done || !batch.last) return done;
  again_since_.erase(since);
  auto settled = ledger_.settle_asides(document_, begun);
  if (!settled) return settled.error();
  new_counts_.settled += static_cast<uint64_t>(*settled);
  return {};
}

Result<void> Recorder::add_contents(const Batch& batch, Instant now) {
  for (const model::Scan& scan : batch.records.scans) {
    if (auto done = add_scan(scan); !done) return done;
  }
  for (const model::Declaration& declaration : batch.records.declarations) {
    if (auto done = add_declaration(declaration, batch); !done) return done;
  }
  for (size_t i = 0; i < batch.records.readings.size(); ++i) {
    const model::Reading& reading = batch.records.readings[i];
    const int64_t content = i < batch.contents.size() ? batch.contents[i] : content_.of(reading);
    if (auto done = add_reading(reading, content, batch); !done) return done;
  }
  for (const model::Ignored& ignored : batch.records.ignored) new_counts_.ignored += ignored.count;
  for (const model::Aside& aside : batch.records.asides) {
    ++new_counts_.asides;
    tried_asides_ += batch.again == 0 ? 0 : 1;
    auto number = ledger_.add_aside(intake_, document_, aside, now);
    if (!number) return number.error();
  }
  return {};
}

// What a document told stays told as it was, even if the mapping makes something else of it now: only what could not be
// read is new. `same_` has what is known of the run.
Result<bool> Recorder::was_read(const model::Reading& reading, int64_t content) {
  for (const Same& same : same_) {
    if (same.document == document_ && same.document_offset == reading.place.offset) return true;
    if (same.content != content) continue;
    auto again = ledger_.has_receipt(Ledger::ReceiptKind::kReading, same.id, document_, reading.place.offset);
    if (!again || *again) return again;
  }
  return false;
}

Result<bool> Recorder::was_read(const model::Declaration& declaration, Number subject, int64_t content) {
  auto known = ledger_.declarations_of(subject);
  if (!known) return known.error();
  for (const ledger::StoredDeclaration& one : *known) {
    if (one.document == document_ && one.declaration.place.offset == declaration.place.offset) return true;
    if (one.content != content) continue;
    const uint64_t offset = declaration.place.offset;
    auto again = ledger_.has_receipt(Ledger::ReceiptKind::kDeclaration, one.id, document_, offset);
    if (!again || *again) return again;
  }
  return false;
}

void Recorder::count_reading(Number instrument, const model::Reading& reading) {
  ++new_counts_.readings;
  if (meters_ == nullptr) return;
  ReadingCount& count = new_readings_[instrument];
  ++count.readings;
  count.voids += reading.finding == model::Finding::kVoid;
}

Result<void> Recorder::add_reading(const model::Reading& reading, int64_t content, const Batch& batch) {
  auto instrument = ledger_.instrument(reading.instrument);
  if (!instrument) return instrument.error();
  if (auto done = ledger_.find_same(*instrument, reading, same_); !done) return done;
  if (again_ != 0) {
    auto read = was_read(reading, content);
    if (!read) return read.error();
    if (*read) return {};
  }
  const auto same = std::find_if(same_.begin(), same_.end(), [&](const Same& s) { return s.content == content; });
  if (same != same_.end()) {
    return add_duplicate(*same, batch, *instrument, reading);
  }

  const casework::InstrumentRules& rules = house_->rules_of(reading.instrument);
  StoredReading stored;
  stored.instrument = *instrument;
  stored.document = document_;
  stored.intake = intake_;
  stored.came_at = batch.document.came_at;
  stored.content = content;
  stored.reading = reading;
  const bool unbound = reading.stock_number.empty();
  if (!unbound) {
    auto subject = subject_number(model::subject_key(reading.stock_number, reading.position));
    if (!subject) return subject.error();
    stored.subject = *subject;
  }
  const bool near = unbound || rules.cycle.count() > 0;
  auto id = ledger_.add_reading(stored, near);
  if (!id) return id.error();
  count_reading(*instrument, reading);
  if (stored.subject != 0) {
    Touched& touched = touched_[stored.subject];
    touched.touch(reading.measured_at);
    if (touched.fresh) touched.added.push_back({*id, &reading});
  }
  if (near) windows_.push_back({*instrument, reading.measured_at, reading.measured_at});
  // Another content under the same run: one of them is a correction. Without a run there is nothing to correct.
  if (same_.empty() || reading.run.empty()) return {};
  ++new_counts_.corrections;
  return settle_corrections(*instrument, reading);
}

// `same` points into same_.
Result<void> Recorder::add_duplicate(const Same& same, const Batch& batch, Number instrument,
                                     const model::Reading& reading) {
  ++new_counts_.duplicates;
  const Instant came_at = batch.document.came_at;
  const uint64_t offset = reading.place.offset;
  if (auto done = note_receipt(Ledger::ReceiptKind::kReading, same.id, came_at, offset); !done) return done;
  // What two intakes bring is not the second route of what either of them brings.
  if (same.intake != intake_ && house_->rules_of(reading.instrument).cycle.count() > 0) {
    windows_.push_back({instrument, reading.measured_at, reading.measured_at});
  }
  if (!earlier(came_at, offset, same.came_at, same.offset)) return {};
  const bool contested = same_.size() > 1 && !reading.run.empty();
  if (auto done = ledger_.set_reading_time(same.id, came_at, offset); !done) return done;
  return contested ? settle_corrections(instrument, reading) : Result<void>();
}

// Among the records of one run the newest lives; the cases that held, or now hold, one of them are looked at again.
Result<void> Recorder::settle_corrections(Number instrument, const model::Reading& reading) {
  if (auto done = ledger_.find_same(instrument, reading, same_); !done) return done;
  std::vector<StoredReading> group;
  for (const Same& same : same_) {
    auto stored = ledger_.reading(same.id);
    if (!stored) return stored.error();
    if (*stored) group.push_back(std::move(**stored));
  }
  const auto known = [](const StoredReading& s) {
    return casework::Known{s.id, {}, s.came_at, s.came_offset, s.content, s.reading};
  };
  const auto newest = std::max_element(group.begin(), group.end(), [&](const StoredReading& a, const StoredReading& b) {
    return casework::by_age(known(a), known(b)) < 0;
  });
  for (auto at = group.begin(); at != group.end(); ++at) {
    const bool live = at == newest;
    if (at->live == live) continue;
    // A record that steps aside, or comes back, leaves its pair; settle_windows() pairs anew.
    if (auto done = ledger_.set_reading_links(at->id, at->subject, live, 0); !done) return done;
    if (at->subject != 0) {
      Touched& touched = touched_[at->subject];
      touched.touch(at->reading.measured_at);
      touched.fresh = false;  // what is in memory no longer tells all
      touched.added.clear();
    }
    const bool near = at->reading.stock_number.empty() || house_->rules_of(at->reading.instrument).cycle.count() > 0;
    if (near) windows_.push_back({instrument, at->reading.measured_at, at->reading.measured_at});
  }
  return {};
}

Result<void> Recorder::add_declaration(const model::Declaration& declaration, const Batch& batch) {
  auto subject = subject_number(model::subject_key(declaration.stock_number, declaration.position));
  if (!subject) return subject.error();
  const int64_t content = content_.of(declaration);
  const Instant came_at = declaration.declared_at.value_or(batch.document.came_at);
  const uint64_t offset = declaration.place.offset;
  if (again_ != 0) {
    auto read = was_read(declaration, *subject, content);
    if (!read) return read.error();
    if (*read) return {};
  }
  std::optional<Number> same;
  if (!touched_[*subject].fresh || touched_[*subject].declared) {
    auto found = ledger_.find_declaration(*subject, content);
    if (!found) return found.error();
    same = *found;
  }
  if (same) {
    ++new_counts_.duplicate_declarations;
    // A claim that is made again can be the newest again.
    auto claims = ledger_.declarations_of(*subject);
    if (!claims) return claims.error();
    const bool contested = claims->size() > 1;
    if (contested) touched_[*subject].declared = true;
    return note_receipt(Ledger::ReceiptKind::kDeclaration, *same, came_at, offset, contested);
  }
  ++new_counts_.declarations;
  ledger::StoredDeclaration stored;
  stored.came_at = came_at;
  stored.content = content;
  stored.declaration = declaration;
  auto id = ledger_.add_declaration(*subject, document_, stored);
  if (!id) return id.error();
  touched_[*subject].declared = true;
  return {};
}

Result<void> Recorder::add_scan(const model::Scan& scan) {
  auto added = ledger_.add_scan(scan, document_);
  if (!added) return added.error();
  if (!*added) return {};
  ++new_counts_.scans;
  for (const auto& [serial, rules] : house_->instruments) {
    if (rules.bench != scan.bench) continue;
    auto instrument = ledger_.instrument(serial);
    if (!instrument) return instrument.error();
    windows_.push_back({*instrument, scan.scanned_at, scan.scanned_at + house_->scan_fresh});
  }
  return {};
}

Result<void> Recorder::note_receipt(Ledger::ReceiptKind kind, Number id, Instant came_at, uint64_t offset, bool alone) {
  PendingReceipt& pending = pending_[static_cast<size_t>(kind)];
  const bool follows = pending.count > 0 && id == pending.first + pending.count && pending.document == document_ &&
                       pending.came_at == came_at && pending.count < kReceiptRun && !alone;
  if (follows) {
    ++pending.count;
    return {};
  }
  if (auto done = flush_receipts(kind); !done) return done;
  pending = {id, 1, document_, came_at, offset};
  if (alone) return flush_receipts(kind);
  return {};
}

Result<void> Recorder::flush_receipts(Ledger::ReceiptKind kind) {
  PendingReceipt& pending = pending_[static_cast<size_t>(kind)];
  if (pending.count == 0) return {};
  auto done = ledger_.add_receipts(kind, pending.first, pending.count, pending.document, pending.came_at, pending.offset);
  if (kind == Ledger::ReceiptKind::kReading) receipts_end_ = std::max(receipts_end_, pending.first + pending.count);
  pending = {};
  return done;
}

api::Happening Recorder::happening() const {
  api::Happening happening;
  happening.decided = decided_;
  happening.readings = new_counts_.readings;
  happening.duplicates = new_counts_.duplicates + new_counts_.duplicate_declarations;
  happening.asides = new_counts_.asides + new_counts_.settled;
  happening.declarations = new_counts_.declarations;
  return happening;
}

void Recorder::count_committed() {
  const auto add = [](api::Count& count, uint64_t more) { count.fetch_add(more, std::memory_order_relaxed); };
  add(meters_->readings, new_counts_.readings);
  add(meters_->duplicates, new_counts_.duplicates);
  add(meters_->corrections, new_counts_.corrections);
  add(meters_->declarations, new_counts_.declarations);
  add(meters_->scans, new_counts_.scans);
  add(meters_->asides, new_counts_.asides - tried_asides_);
  for (size_t i = 0; i < new_outcomes_.size(); ++i) add(meters_->outcomes[i], new_outcomes_[i]);
  add(meters_->decided_by_hand, new_by_hand_);
  for (const auto& [instrument, count] : new_readings_) {
    add(meters_->voids, count.voids);
    api::InstrumentMeters::One& one = meters_->instruments.of(ledger_.instrument_serial(instrument));
    add(one.readings, count.readings);
    add(one.voids, count.voids);
  }
}

void Recorder::committed() {
  counts_ += new_counts_;
  if (meters_ != nullptr) count_committed();
  committed_documents_ = open_documents_;
  committed_again_since_ = again_since_;
  forget_transaction();
}

void Recorder::rolled_back() {
  open_documents_ = committed_documents_;
  again_since_ = committed_again_since_;
  forget_transaction();
}

void Recorder::forget_transaction() {
  new_counts_ = {};
  tried_asides_ = 0;
  new_readings_.clear();
  new_outcomes_ = {};
  new_by_hand_ = 0;
  decided_.clear();
  keys_.clear();
  touched_.clear();
  windows_.clear();
  pending_[0] = pending_[1] = {};
}

}  // namespace girdle::service
