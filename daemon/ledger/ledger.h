// The ledger: the durable store of readings, receipts, cases, outcomes, deliveries, positions and what was set aside.
// schemas/ledger.md has the tables.
//
// One Ledger writes, on one thread; `Ledger::read` opens any number of readers beside it (other threads, other
// processes), each on one thread, which see what is committed. All writing stands between begin() and commit(); what
// was not committed never happened. Errors of SQLite end here: kInput for a ledger that is damaged, of another kind or
// of a newer version (never touched), kEnvironment for a full disk, a lock, a missing folder.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/clock.h"
#include "base/digest.h"
#include "base/result.h"
#include "model/outcome.h"
#include "model/position.h"
#include "model/record.h"

struct sqlite3;

namespace girdle::ledger {

// Numbers are the ledger's own handles: positive, never reused, 0 = none.
using Number = int64_t;

struct StoredReading {
  Number id = 0;
  Number subject = 0;  // 0: unbound
  Number instrument = 0;
  Number intake = 0;
  Number document = 0;
  Number pair = 0;     // the reading that this one is the second route of; 0 = none
  bool live = true;    // false: a newer record of the same run took its place
  base::Instant came_at{};   // the earliest time of its documents, and its offset in that one
  uint64_t came_offset = 0;  // set when read; written only by set_reading_time
  int64_t content = 0;
  model::Reading reading;
};

struct StoredDeclaration {
  Number id = 0;
  Number document = 0;       // the first that it came in; set when read
  base::Instant came_at{};  // declared_at, or when its list came: the first that was taken in; see receipts_of
  int64_t list = 0;         // first eight bytes of that document's digest; set when read
  int64_t content = 0;
  model::Declaration declaration;
};

enum class CaseState : uint8_t { kOpen, kMerged, kEmpty };

// A case's number tells its subject: subject × 2^16 + the how-manyeth case of the subject, from 0.
struct CaseRow {
  Number number = 0;
  base::Instant first_at{}, last_at{};  // of its measurements
  CaseState state = CaseState::kOpen;
  Number merged_into = 0;
  int64_t sequence = 0;  // of its last outcome; 0 = none yet
};
inline Number subject_of(Number case_number) { return case_number >> 16; }
inline Number first_case_of(Number subject) { return subject << 16; }

// One measurement that an outcome rests on: a reading, and the second route of it.
struct Measured {
  Number reading = 0;
  Number second = 0;  // 0 = none

  bool operator==(const Measured&) const = default;
};

// Who decided or said something by hand, and why: what they say of themselves. `token` is the name of what let them in;
// empty = none was shown.
struct Hand {
  std::string who, why, token;

  bool operator==(const Hand&) const = default;
};
// The reason of an outcome that a person decided. A policy may have the same code: only `hand` tells.
inline constexpr std::string_view kDecidedByHand = "decided_by_hand";

struct OutcomeRow {
  Number case_number = 0;
  int64_t sequence = 0;
  model::Decision decision;
  std::optional<Hand> hand;  // a person decided, of that evidence; the policy did not
  // In the order of time. Nothing: written before version 2 of the ledger, which did not keep it.
  std::optional<std::vector<Measured>> measured;
  std::optional<model::Disposition> previous;
  model::SubjectKind kind = model::SubjectKind::kStone;
  int64_t duplicates = 0;
  Number declaration = 0;
  Number merged_into = 0;  // case
  Number house = 0;
  base::Instant decided_at{};
};

// Rules that decided: a policy and the settings of instruments.
struct HouseRow {
  Number number = 0;
  model::PolicyStamp stamp;
  std::string rules;  // the text by whose digest they go
  base::Instant since{};
};

// A policy came into force.
struct Activation {
  Number house = 0;
  base::Instant at{};
  std::optional<base::Instant> valid_from;  // as the policy says it
  std::string approved_by, why;             // as the policy says it; may be empty
};

// What a policy in the shadow says of the case of an outcome, at that outcome.
struct ShadowRow {
  Number case_number = 0;
  int64_t sequence = 0;
  Number house = 0;
  model::Disposition disposition = model::Disposition::kHold;
  std::string reason;
  int rule = 0;

  bool operator==(const ShadowRow&) const = default;
};

// A subject with all that is known of it: for replays.
struct SubjectHistory {
  Number subject = 0;
  std::string key;
  std::vector<StoredReading> readings;  // by time, then number; those that do not live too
  std::vector<StoredDeclaration> declarations;  // by number
  std::vector<CaseRow> cases;                   // by number
  std::vector<OutcomeRow> outcomes;             // by case and sequence
};

struct DeliveryRow {
  Number id = 0;
  Number outlet = 0;
  Number case_number = 0;
  int64_t sequence = 0;
  model::DeliveryState state = model::DeliveryState::kWaiting;
  int64_t attempts = 0;  // since it was added, or sent again
  int64_t made = 0;      // and those before; set when read
  std::optional<base::Instant> due;  // nothing: an earlier outcome of the case has to go first
  int status = 0;                    // HTTP status of the last attempt; 0 = none came
  std::string note;                  // of the last attempt
  std::string reference;             // the receiver's own name for it; empty = none, and in a mark: as it was
  base::Instant changed_at{};
};

// One attempt at a delivery.
struct AttemptRow {
  Number delivery = 0;
  int64_t number = 0;  // of all the delivery's attempts, from 1; set when read
  base::Instant at{};
  base::Millis took{};
  int status = 0;      // HTTP status; 0 = none came
  std::string note;    // why it failed; empty = it did not
  std::string answer;  // the first bytes of the answer; of more than kMostAnswer those are kept
};

// Of attempts whose rows are gone: how many, and how long they took together.
struct AttemptCount {
  std::string outlet;
  std::string day;  // 2026-11-02, UTC
  int status = 0;
  int64_t count = 0;
  base::Millis took{};
};

// What is known of an outlet besides its deliveries.
struct OutletRow {
  Number number = 0;
  std::string name;
  std::string closed;  // why it takes nothing until a person opens it; empty = it is open
  std::string paused;  // why a person paused it; empty = it is not
  std::optional<base::Instant> paused_at;
};

// Which deliveries a person means: those of which all that is given holds. None, where none of the first four is given.
struct Selection {
  Number delivery = 0;            // 0 = not given, like the empty texts
  std::string stock_number;       // cases of the subject, or their beginnings, as in Filter
  bool parked = false;            // all that are parked
  std::optional<base::Instant> since, until;  // by when the outcome was decided
  std::string outlet;             // only of this one

  bool says_which() const { return delivery != 0 || !stock_number.empty() || parked || since || until; }
};

// What became of them.
enum class ResendFate {
  kAgain,      // waits again
  kOvertaken,  // stays as it is: a later outcome of its case has its place
  kWaiting,    // waited anyhow; is due now
};
struct Resent {
  int64_t again = 0;      // wait again, under the same id
  int64_t overtaken = 0;  // stay as they are: a later outcome of the case has their place
  int64_t waiting = 0;    // waited anyhow: they are due now
};

struct AsideRow {
  Number id = 0;
  std::string intake, document;
  Number document_number = 0;
  base::Instant at{};
  model::Aside aside;
  std::optional<base::Instant> settled_at;  // the document was read again, and this was not met; nothing = it is open
  std::optional<base::Instant> tried_at;    // the document was last read again
  bool is_kept = false;                     // the bytes of its document are there, so that it can be read again
};

// A document that can be read again: what it was, and its bytes.
struct KeptDocument {
  Number number = 0;
  model::Document document;
  std::string resume;  // the reader's state with which it was begun (model::FilePosition::resume)
  std::string bytes;
};

// A person's answer to whose reading it is. Of several of one reading the last counts.
struct BindingRow {
  Number id = 0;
  Number reading = 0;
  std::string stock_number, position;
  Hand by;
  base::Instant at{};
};

// What lets somebody in over HTTP.
struct TokenRow {
  Number id = 0;
  std::string name;  // unique among those that are not revoked
  std::string role;  // look, work or admin
  base::Digest digest{};  // SHA-256 of the token, which itself is kept nowhere
  base::Instant made_at{};
  std::optional<base::Instant> revoked_at;
};

struct Receipt {
  Number document = 0;
  int64_t list = 0;     // first eight bytes of the document's digest
  uint64_t offset = 0;  // of the first record of its run
  std::string intake, name;
  base::Instant came_at{};
};

// What was stored under a record's identity when it was offered.
struct Same {
  Number id = 0;
  int64_t content = 0;
  Number intake = 0;  // of the one that came first
  base::Instant came_at{};
  uint64_t offset = 0;
  Number document = 0;  // in which it came first, and where in it
  uint64_t document_offset = 0;
};

// For the lists. Empty texts and zeros do not filter.
struct Filter {
  std::string stock_number;  // or its beginning, when it ends in *
  std::string intake, instrument, outlet, word;  // word: a disposition, a finding or a delivery's state
  Number case_number = 0;                        // of deliveries
  bool unbound = false;                          // of readings: only those without a subject
  bool open = false;                             // of what was set aside: only what is not settled
  bool brief = false;                            // of a page of what was set aside: without the bytes
  std::optional<CaseState> state;                // of cases
  base::Instant since{}, until = base::Instant::max();
  int64_t limit = 100;  // not of pages, which have their own
};

// Where a page ended, as the ledger said: the next one begins behind it. A default one stands before the first row.
// Which members count depends on the list; callers keep all three.
struct Cursor {
  std::string key;  // of a list that goes by stock number
  int64_t at = 0;   // milliseconds; of readings by time
  Number number = 0;

  bool operator==(const Cursor&) const = default;
};

// A page of a list. However narrow the filter, one call looks at no more than `most_looked` rows, so that a page may be
// short, even empty, and go on all the same.
struct Page {
  Cursor after;
  int64_t limit = 50;
  int64_t most_looked = 20'000;
};
// Where to go on; nothing = there is no more.
using Next = std::optional<Cursor>;

struct CaseLine {
  std::string case_id, key;
  CaseRow row;
  OutcomeRow outcome;
};

struct ReadingLine {
  StoredReading stored;  // as the record gave it: a stock number that it did not give stays empty
  std::string key;       // of its subject; empty = unbound
  std::optional<BindingRow> binding;  // the last
};

struct DeclarationLine {
  StoredDeclaration stored;
  std::string key;
  Receipt arrival;  // of the document that it first came in
};

struct DeliveryLine {
  DeliveryRow row;
  std::string outlet, key;
};

// How an outlet stands. Exact; as of the last commit.
struct OutletTotals {
  int64_t waiting = 0, sent = 0, parked = 0, skipped = 0;
  std::optional<base::Instant> oldest_waiting_at;  // since when the one waits that waits longest
  std::optional<AttemptRow> last;                  // the last attempt at any of its deliveries
};

// What is known of an instrument without looking at its readings. As of the last commit.
struct InstrumentRow {
  Number number = 0;
  std::string serial;
  std::optional<base::Instant> last_measured_at, last_came_at;  // the latest of all its readings; nothing = it has none
};

class Ledger {
 public:
  // Creates the file where it is missing, migrates an older version forward. Holds a lock beside the file for as long as
  // it lives: a second writer is refused, with the first one's process number.
  static base::Result<std::unique_ptr<Ledger>> open(const std::filesystem::path& path);
  static base::Result<std::unique_ptr<Ledger>> read(const std::filesystem::path& path);
  // For fault injection: the name of a registered sqlite3_vfs.
  static base::Result<std::unique_ptr<Ledger>> open_on(const std::filesystem::path& path, const char* vfs);
  ~Ledger();

  // Eight letters and digits, drawn when the ledger was made: case ids of two ledgers never meet.
  const std::string& name() const;
  std::string case_id(Number case_number) const;
  std::optional<Number> case_number(std::string_view case_id) const;

  base::Result<void> begin();
  base::Result<void> commit();
  void rollback();
  // Moves what the write-ahead log holds into the file, when it holds at least so many pages; between transactions.
  bool tidy(uint64_t pages);

  // Names to numbers, making them where they are new; inside a transaction.
  base::Result<Number> intake(std::string_view name);
  base::Result<Number> instrument(std::string_view serial);
  base::Result<Number> outlet(std::string_view name);
  // `fresh` tells whether it was made now.
  base::Result<Number> subject(std::string_view key, bool* fresh);
  // The rules in force, by their digest; the text is kept once.
  base::Result<Number> house(const model::PolicyStamp& stamp, std::string_view text, base::Instant now);

  base::Result<Number> add_document(Number intake, const model::Document& document, base::Instant now);
  bool knows_document(Number intake, const base::Digest& digest);
  // A document's digest is known once all of it is in.
  base::Result<void> complete_document(Number document);

  // All stored readings of the same instrument and run (or, without a run, of the same time).
  base::Result<void> find_same(Number instrument, const model::Reading& reading, std::vector<Same>& out);
  base::Result<Number> add_reading(const StoredReading& reading, bool near);
  base::Result<void> set_reading_time(Number id, base::Instant came_at, uint64_t offset);
  base::Result<void> set_reading_links(Number id, Number subject, bool live, Number pair);
  // `near`: readings that are found by their instrument and time (see near_readings).
  base::Result<void> set_near(Number instrument);

  base::Result<std::optional<Number>> find_declaration(Number subject, int64_t content);
  base::Result<Number> add_declaration(Number subject, Number document, const StoredDeclaration& declaration);
  // False when the very same scan is there.
  base::Result<bool> add_scan(const model::Scan& scan, Number document);

  enum class ReceiptKind : uint8_t { kReading, kDeclaration };
  // `count` records of one document in a row are duplicates of `count` readings with numbers in a row.
  base::Result<void> add_receipts(ReceiptKind kind, Number first, int64_t count, Number document,
                                  base::Instant came_at, uint64_t offset);
  // The same aside of a document is one row. Where it is met again it is open again, and `now` is when it was tried.
  base::Result<Number> add_aside(Number intake, Number document, const model::Aside& aside, base::Instant now);
  // A document of which something was set aside is read again: add_aside() with the time that this gives, for what is
  // met, then settle_asides() with it once all of the document was read. The time is later than any before.
  base::Result<base::Instant> begin_again(Number document, base::Instant now);
  // How many were not met again, and are settled now.
  base::Result<int64_t> settle_asides(Number document, base::Instant begun);
  // The bytes of a document, for reading it again; the first stay.
  base::Result<void> keep_document(Number document, std::string_view resume, std::string_view bytes);
  // The record of that document at that offset is known to be a duplicate of it. Of one behind the first of a run the
  // place is not known: then any that lies behind the run's beginning is.
  base::Result<bool> has_receipt(ReceiptKind kind, Number id, Number document, uint64_t offset);
  base::Result<void> set_position(Number intake, const model::FilePosition& position);

  base::Result<Number> add_binding(const BindingRow& row);
  // False: that name is taken by a token that is not revoked.
  base::Result<bool> add_token(std::string_view name, std::string_view role, const base::Digest& digest, base::Instant now);
  // False: there is none of that name, or it is revoked already.
  base::Result<bool> revoke_token(std::string_view name, base::Instant now);

  base::Result<void> put_case(const CaseRow& row, bool fresh);
  base::Result<void> add_outcome(const OutcomeRow& row);
  base::Result<void> add_activation(const Activation& activation);
  // Of the same case, sequence and house the first stays.
  base::Result<void> add_shadow(const ShadowRow& row);
  base::Result<Number> add_delivery(Number outlet, Number case_number, int64_t sequence, base::Instant now,
                                    bool* is_head);
  // Marks a delivery; when it ends (sent, parked, skipped), the case's next one becomes the head: its number, or 0. The
  // attempt, where there was one, is kept beside it, as the next of the delivery's.
  base::Result<Number> mark_delivery(const DeliveryRow& row, const AttemptRow* attempt = nullptr);
  base::Result<void> close_outlet(Number outlet, std::string_view reason);
  // A person's pause; and its end, which opens a closed outlet too. False when it was so already.
  base::Result<bool> pause_outlet(Number outlet, std::string_view why, base::Instant now);
  base::Result<bool> resume_outlet(Number outlet);
  // What waits for its next attempt there is due now: whatever was in the way is mended. How many.
  base::Result<int64_t> hasten(Number outlet, base::Instant now);
  // Deliveries wait again, from attempt 0 on, in the order of their outcomes: of a case and an outlet those that are
  // parked and that no later one overtook (was sent, ever, or waits), and one that was sent if it is the last. The head of
  // those that wait anyhow is due now. An outlet that nobody knows has no deliveries.
  base::Result<Resent> resend(const Selection& selection, base::Instant now);
  // What resend() would do, delivery by delivery, the oldest first, without doing it. The error: the one that is named
  // is not there.
  using ResendLook = std::function<void(const DeliveryRow& row, const std::string& outlet, const std::string& key, ResendFate fate)>;
  base::Result<Resent> look_at_resend(const Selection& selection, const ResendLook& each);
  static constexpr size_t kMostAnswer = 1024;  // bytes of an answer that are kept
  // Puts attempts from before `until` into counts, at most `limit` of them, the oldest first; how many it did.
  base::Result<int64_t> fold_attempts(base::Instant until, int64_t limit);

  // Reading, for the writer and for readers alike.

  // What `read` asks is answered as of one moment, and for less than one by one.
  base::Result<void> at_one_moment(const std::function<base::Result<void>()>& read);
  std::optional<Number> find_subject(std::string_view key);
  std::string subject_key(Number subject);
  std::optional<Number> find_intake(std::string_view name);
  std::optional<Number> find_outlet(std::string_view name);
  std::string outlet_closed(Number outlet);
  std::optional<model::FilePosition> position(Number intake, std::string_view name);
  // By time; and the second routes of these measurements, which may lie later.
  base::Result<std::vector<StoredReading>> readings_of(Number subject, base::Instant from, base::Instant to);
  base::Result<std::optional<StoredReading>> reading(Number id);
  // Readings that were added with `near`, of one instrument, by time.
  base::Result<std::vector<StoredReading>> near_readings(Number instrument, base::Instant from, base::Instant to);
  base::Result<std::vector<model::Scan>> scans(std::string_view bench, base::Instant from, base::Instant to);
  base::Result<std::vector<StoredDeclaration>> declarations_of(Number subject);
  int64_t count_receipts(ReceiptKind kind, Number id);
  // From this number on, nothing has a receipt.
  base::Result<Number> receipts_end(ReceiptKind kind);
  base::Result<std::vector<Receipt>> receipts_of(ReceiptKind kind, Number id);
  // The intakes that brought duplicates of a reading; ascending.
  base::Result<std::vector<Number>> duplicate_intakes(Number reading);
  base::Result<std::vector<CaseRow>> cases_of(Number subject);
  base::Result<std::optional<OutcomeRow>> outcome(Number case_number, int64_t sequence);
  // Puts `hand` into an outcome that was read without it.
  base::Result<void> read_hand(OutcomeRow& row);
  std::optional<Number> find_house(std::string_view digest);
  base::Result<std::optional<HouseRow>> house_row(Number house);
  base::Result<std::optional<Activation>> last_activation();
  // The oldest first.
  base::Result<void> each_activation(const std::function<void(const Activation&, const model::PolicyStamp&)>& row);
  // By sequence, then house.
  base::Result<std::vector<ShadowRow>> shadows_of(Number case_number);
  // The last answer of that house on each case that has one, with the outcome at which it was given; by case.
  base::Result<void> each_last_shadow(Number house,
                                      const std::function<void(const ShadowRow&, const OutcomeRow&)>& row);
  // Outlets that have a delivery of the case; ascending.
  base::Result<std::vector<Number>> outlets_of(Number case_number);
  // Every subject that has a reading or a case, by number, out of one look at the ledger; ends early where `each` fails,
  // with its error. Fast: five statements for all subjects. `each` may ask the ledger other things, and gets answers of
  // the same moment; it cannot write.
  base::Result<void> each_history(const std::function<base::Result<void>(const SubjectHistory&)>& each);
  // The outcome with all that an outlet is told, but for its reasons.
  base::Result<model::Outcome> full_outcome(Number case_number, int64_t sequence, std::string_view site);
  // Heads that are due, oldest due first, none of `except`; `next_due` gets the earliest due of the others.
  base::Result<std::vector<DeliveryRow>> due_deliveries(Number outlet, base::Instant now, size_t limit,
                                                        const std::vector<Number>& except, base::Instant* next_due);
  base::Result<std::optional<DeliveryRow>> delivery(Number id);
  // A later outcome of the delivery's case waits for the same outlet.
  base::Result<bool> is_overtaken(const DeliveryRow& row);
  std::string outlet_paused(Number outlet);  // why; empty = it is not
  base::Result<std::vector<OutletRow>> outlets();  // by number
  base::Result<std::vector<AttemptRow>> attempts_of(Number delivery);  // by number; those that are not folded
  // How many deliveries stand how, by outlet.
  base::Result<std::map<std::pair<Number, model::DeliveryState>, int64_t>> count_deliveries();
  // By outlet, day and status.
  base::Result<void> each_attempt_count(const std::function<void(const AttemptCount&)>& row);
  bool has_waiting(Number outlet);
  std::string document_name(Number document);
  // Where and when the document came, as a receipt of one of its records would tell it.
  base::Result<Receipt> arrival(Number document);
  // Deliveries on their way, to all outlets.
  base::Result<int64_t> count_waiting();
  std::string intake_name(Number intake);
  std::string instrument_serial(Number instrument);

  base::Result<void> each_case(const Filter& filter, const std::function<void(const CaseLine&)>& row);
  base::Result<void> each_reading(const Filter& filter, const std::function<void(const StoredReading&)>& row);
  base::Result<void> each_aside(const Filter& filter, const std::function<void(const AsideRow&)>& row);
  // The newest first; `since` and `until` are of the last change. A word that is no state has no deliveries.
  base::Result<void> each_delivery(const Filter& filter,
                                   const std::function<void(const DeliveryRow&, const std::string& outlet,
                                                            const std::string& key)>& row);

  // Pages: a few milliseconds a call, however large the ledger is. The newest first, by descending number: of cases (a
  // case that was decided anew keeps its place), readings, asides, declarations, deliveries. Two lists have another order:
  // with a stock number (or its beginning) they go by it, ascending, out of the index of keys, and within a subject the
  // newest first; unbound readings go by their time, the latest first, out of the index of readings by subject.
  //
  // How the bound holds: rows are looked at in the order of one index, at most `most_looked` of them, each with what the
  // filter needs and no more; those that fit are read. So a call costs its rows of the page and a microsecond or two for
  // each of the others. Filters that an index serves (stock number, unbound, open, a delivery's case, state waiting or
  // parked) pass nothing by. A word that is none of the list's has no rows.
  base::Result<Next> page_of_cases(const Filter& filter, const Page& page, const std::function<void(const CaseLine&)>& row);
  base::Result<Next> page_of_readings(const Filter& filter, const Page& page,
                                      const std::function<void(const ReadingLine&)>& row);
  // `row` says whether it wants the row: one that it does not want does not fill the page.
  base::Result<Next> page_of_asides(const Filter& filter, const Page& page, const std::function<bool(const AsideRow&)>& row);
  base::Result<Next> page_of_declarations(const Filter& filter, const Page& page,
                                          const std::function<void(const DeclarationLine&)>& row);
  base::Result<Next> page_of_deliveries(const Filter& filter, const Page& page,
                                        const std::function<void(const DeliveryLine&)>& row);
  // One of each; nothing: there is none.
  base::Result<std::optional<CaseLine>> case_line(Number case_number);
  base::Result<std::optional<ReadingLine>> reading_line(Number reading);
  base::Result<std::optional<DeclarationLine>> declaration_line(Number id);
  base::Result<std::optional<AsideRow>> aside(Number id);
  base::Result<std::optional<DeliveryLine>> delivery_line(Number id);

  // How many are open, counted up to `most`.
  base::Result<int64_t> count_open_asides(int64_t most);
  // Nothing: its bytes are not kept.
  base::Result<std::optional<KeptDocument>> kept_document(Number document);
  // A person's word on whose reading it is: the last one given of it or, where it has a run, of any record of that run.
  base::Result<std::optional<BindingRow>> binding_of(Number reading);
  bool has_bindings();
  // By number; those that are revoked too.
  base::Result<std::vector<TokenRow>> tokens();
  // Of an outlet. The counts are kept with each change of a delivery; the oldest is found by an index of what waits.
  base::Result<OutletTotals> outlet_totals(Number outlet);
  // By serial number.
  base::Result<std::vector<InstrumentRow>> instruments();
  std::optional<Number> find_instrument(std::string_view serial);
  // The readings of an instrument with its highest runs (without runs: the latest), at most `limit`, by time, the latest
  // first. For an instrument that counts its runs up those are its latest.
  base::Result<std::vector<StoredReading>> last_readings_of(Number instrument, int64_t limit);

  struct Counts {
    int64_t readings = 0, receipts = 0, declarations = 0, asides = 0, cases = 0, outcomes = 0, waiting = 0, sent = 0,
            parked = 0, skipped = 0;
  };
  base::Result<Counts> counts();

 private:
  base::Result<model::PolicyStamp> stamp_of(Number house);

  struct State;
  explicit Ledger(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace girdle::ledger
