// What persons say and are: outcomes decided by hand, bindings, documents kept for another try, tokens.
#include <algorithm>
#include <iterator>

#include "ledger/rows.h"
#include "ledger/state.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using base::Instant;
using base::Result;
using base::to_millis;

constexpr std::string_view kRoles[] = {"look", "work", "admin"};

std::string_view bytes_of(const base::Digest& digest) {
  return {reinterpret_cast<const char*>(digest.data()), digest.size()};
}

base::Digest digest_of(std::string_view bytes) {
  base::Digest digest{};
  if (bytes.size() == digest.size()) std::copy(bytes.begin(), bytes.end(), digest.begin());
  return digest;
}

}  // namespace

Result<void> Ledger::State::add_hand(const OutcomeRow& row) {
  if (auto done = ready(insert_hand, "INSERT INTO hand VALUES (?, ?, ?, ?, ?, ?)"); !done) return done;
  return insert_hand.start()
      .bind(row.case_number)
      .bind(row.sequence)
      .bind(std::string_view(row.hand->who))
      .bind(std::string_view(row.hand->why))
      .bind_text_or_null(row.hand->token)
      .bind(to_millis(row.decided_at))
      .run();
}

// Almost no outcome has the reason, so almost none asks.
Result<void> Ledger::read_hand(OutcomeRow& row) {
  if (row.decision.reason != kDecidedByHand) return {};
  GIRDLE_READY(select_hand, "SELECT who, why, token FROM hand WHERE case_number = ? AND sequence = ?");
  Statement& select = state_->select_hand;
  auto found = select.start().bind(row.case_number).bind(row.sequence).step();
  if (!found) return found.error();
  if (*found) row.hand = row_hand(select, 0);
  select.reset();
  return {};
}

Result<Number> Ledger::add_binding(const BindingRow& row) {
  GIRDLE_READY(insert_binding,
               "INSERT INTO binding (reading, stock, position, who, why, token, at) VALUES (?, ?, ?, ?, ?, ?, ?)");
  auto done = state_->insert_binding.start()
                  .bind(row.reading)
                  .bind(std::string_view(row.stock_number))
                  .bind_text_or_null(row.position)
                  .bind(std::string_view(row.by.who))
                  .bind(std::string_view(row.by.why))
                  .bind_text_or_null(row.by.token)
                  .bind(to_millis(row.at))
                  .run();
  if (!done) return done.error();
  return sqlite3_last_insert_rowid(state_->database.handle());
}

bool Ledger::has_bindings() {
  const auto any = state_->database.number("SELECT EXISTS (SELECT 1 FROM binding)");
  return any && *any != 0;
}

// Records of one run are one measurement, told anew; without a run each stands alone.
Result<std::optional<BindingRow>> Ledger::binding_of(Number reading) {
  GIRDLE_READY(select_binding,
               "SELECT " GIRDLE_BINDING_COLUMNS
               " FROM reading x CROSS JOIN reading r ON r.instrument = x.instrument AND r.slot = x.slot "
               "AND (r.id = x.id OR typeof(x.slot) <> 'blob') CROSS JOIN binding b ON b.reading = r.id "
               "WHERE x.id = ? ORDER BY b.id DESC LIMIT 1");
  Statement& select = state_->select_binding;
  auto row = select.start().bind(reading).step();
  if (!row) return row.error();
  if (!*row) return std::optional<BindingRow>();
  BindingRow binding = row_binding(select, 0);
  select.reset();
  return std::optional(std::move(binding));
}

Result<Instant> Ledger::begin_again(Number document, Instant now) {
  GIRDLE_READY(select_tried, "SELECT max(coalesce(max(tried_at), 0), coalesce(max(at), 0)) FROM aside WHERE document = ?");
  auto row = state_->select_tried.start().bind(document).step();
  if (!row) return row.error();
  const Instant last = *row ? from_millis(state_->select_tried.number(0)) : Instant();
  state_->select_tried.reset();
  return std::max(now, last + base::Millis(1));
}

Result<int64_t> Ledger::settle_asides(Number document, Instant begun) {
  // Those that were met have that time; those that are new to the document were never tried before.
  GIRDLE_READY(settle_asides,
               "UPDATE aside SET settled_at = ?2, tried_at = ?2 WHERE document = ?1 AND settled_at IS NULL AND at < ?2 "
               "AND (tried_at IS NULL OR tried_at < ?2)");
  auto done = state_->settle_asides.start().bind(document).bind(to_millis(begun)).run();
  if (!done) return done.error();
  return sqlite3_changes64(state_->database.handle());
}

Result<void> Ledger::keep_document(Number document, std::string_view resume, std::string_view bytes) {
  GIRDLE_READY(insert_kept, "INSERT INTO kept VALUES (?, ?, ?) ON CONFLICT DO NOTHING");
  return state_->insert_kept.start().bind(document).bind_blob(resume).bind_blob(bytes).run();
}

Result<std::optional<KeptDocument>> Ledger::kept_document(Number document) {
  GIRDLE_READY(select_kept,
               "SELECT i.name, d.name, d.digest, d.offset, d.size, d.came_at, k.resume, k.bytes FROM kept k "
               "JOIN document d ON d.id = k.document JOIN intake i ON i.id = d.intake WHERE k.document = ?");
  Statement& select = state_->select_kept;
  auto row = select.start().bind(document).step();
  if (!row) return row.error();
  if (!*row) return std::optional<KeptDocument>();
  KeptDocument kept;
  kept.number = document;
  kept.document.intake = select.text(0);
  kept.document.name = select.text(1);
  kept.document.digest = digest_of(select.blob(2));
  kept.document.offset = static_cast<uint64_t>(select.number(3));
  kept.document.size = static_cast<uint64_t>(select.number(4));
  kept.document.came_at = from_millis(select.number(5));
  kept.resume = select.blob(6);
  kept.bytes = select.blob(7);
  select.reset();
  return std::optional(std::move(kept));
}

Result<std::optional<AsideRow>> Ledger::aside(Number id) { return state_->aside(id, true); }

Result<std::optional<AsideRow>> Ledger::State::aside(Number id, bool with_bytes) {
  if (auto done = ready(select_aside, "SELECT " GIRDLE_ASIDE_COLUMNS "WHERE a.id = ?"); !done) return done.error();
  Statement& select = select_aside;
  auto row = select.start().bind(id).step();
  if (!row) return row.error();
  if (!*row) return std::optional<AsideRow>();
  AsideRow aside = row_aside(select, 0, with_bytes);
  select.reset();
  return std::optional(std::move(aside));
}

Result<int64_t> Ledger::count_open_asides(int64_t most) {
  Statement count;
  auto ready = count.prepare(state_->database,
                             "SELECT count(*) FROM (SELECT 1 FROM aside INDEXED BY aside_open WHERE settled_at IS NULL "
                             "LIMIT ?)");
  if (!ready) return ready.error();
  auto row = count.start().bind(most).step();
  if (!row) return row.error();
  return count.number(0);
}

Result<bool> Ledger::add_token(std::string_view name, std::string_view role, const base::Digest& digest, Instant now) {
  const auto at = std::ranges::find(kRoles, role);
  if (at == std::end(kRoles)) return base::call_error("there is no role " + std::string(role));
  GIRDLE_READY(insert_token, "INSERT INTO token (name, role, digest, made_at) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING");
  auto done = state_->insert_token.start()
                  .bind(name)
                  .bind(int64_t{at - std::begin(kRoles)})
                  .bind_blob(bytes_of(digest))
                  .bind(to_millis(now))
                  .run();
  if (!done) return done.error();
  return sqlite3_changes(state_->database.handle()) > 0;
}

Result<bool> Ledger::revoke_token(std::string_view name, Instant now) {
  GIRDLE_READY(revoke_token, "UPDATE token SET revoked_at = ? WHERE name = ? AND revoked_at IS NULL");
  if (auto done = state_->revoke_token.start().bind(to_millis(now)).bind(name).run(); !done) return done.error();
  return sqlite3_changes(state_->database.handle()) > 0;
}

Result<std::vector<TokenRow>> Ledger::tokens() {
  Statement select;
  auto ready = select.prepare(state_->database, "SELECT id, name, role, digest, made_at, revoked_at FROM token ORDER BY id");
  if (!ready) return ready.error();
  std::vector<TokenRow> tokens;
  auto done = for_rows(select.start(), [&](const Statement& row) -> Result<void> {
    const auto role = static_cast<size_t>(row.number(2));
    if (role >= std::size(kRoles) || row.blob(3).size() != base::Digest().size()) {
      return row.damage("token " + std::to_string(row.number(0)) + " has no role, or no digest, that can be");
    }
    tokens.push_back({row.number(0), std::string(row.text(1)), std::string(kRoles[role]), digest_of(row.blob(3)),
                      from_millis(row.number(4)), row_time(row, 5)});
    return {};
  });
  if (!done) return done.error();
  return tokens;
}

Result<bool> Ledger::has_receipt(ReceiptKind kind, Number id, Number document, uint64_t offset) {
  GIRDLE_READY(select_has_receipt,
               "SELECT 1 FROM receipt WHERE kind = ?1 AND first > ?2 - 1024 AND first <= ?2 AND first + count > ?2 "
               "AND document = ?3 AND (offset = ?4 OR (first < ?2 AND offset < ?4)) LIMIT 1");
  Statement& select = state_->select_has_receipt;
  select.start().bind(static_cast<int64_t>(kind)).bind(id).bind(document).bind(static_cast<int64_t>(offset));
  auto row = select.step();
  if (!row) return row.error();
  const bool has = *row;
  select.reset();
  return has;
}

}  // namespace girdle::ledger
