// Rows of the ledger's tables as values. `at` is the place of a row's first column among those of the statement; `out` is
// as it was made, with nothing in it.
#pragma once

#include <string>
#include <string_view>
#include <type_traits>

#include "ledger/ledger.h"
#include "ledger/sqlite.h"

namespace girdle::ledger {

// The columns of a reading `r`, in the order of row_reading().
#define GIRDLE_READING_COLUMNS                                                                                         \
  "r.id, r.subject, r.instrument, r.slot, r.content, r.measured_at, r.finding, r.live, r.pair, r.document, r.intake, " \
  "r.offset, r.length, r.line, r.came_at, coalesce(r.came_offset, r.offset), r.stock, r.position, r.kind, "            \
  "r.diamond_type, r.confidence, r.carat, r.color, r.shape, r.table_mm, r.length_mm, r.width_mm, r.depth_mm, "         \
  "r.temperature_c, r.humidity_pct, r.operator, r.note, r.time_rule, r.extra, r.defaults"
inline constexpr int kReadingColumns = 35;

// The columns of a declaration `d`, in the order of row_declaration(), and where they come from. CROSS: the declaration
// is looked for first, the rest by its numbers.
#define GIRDLE_DECLARATION_COLUMNS                                                                         \
  "d.id, d.content, d.came_at, l.digest, d.offset, d.length, d.line, d.declared_at, "                      \
  "d.identity, d.kind, d.color, d.shape, d.mount, d.channel, d.carat, d.table_mm, d.length_mm, d.width_mm, " \
  "d.depth_mm, d.stones, d.value, d.extra, s.key, d.document "                                             \
  "FROM declaration d CROSS JOIN subject s ON s.id = d.subject CROSS JOIN document l ON l.id = d.document "

// The serial number of the instrument stays empty.
void row_reading(const Statement& row, int at, StoredReading& out);
void row_declaration(const Statement& row, int at, StoredDeclaration& out);
// All columns of `cases`, `outcome`, `delivery`, in the order of the tables. An outcome whose evidence or readings cannot
// be read is damaged: an error.
CaseRow row_case(const Statement& row, int at);
base::Result<void> row_outcome(const Statement& row, int at, OutcomeRow& out);
DeliveryRow row_delivery(const Statement& row, int at);
inline constexpr int kDeliveryColumns = 13;
// All columns of `attempt`.
AttemptRow row_attempt(const Statement& row, int at);

// The columns of an activation `a`, in the order of row_activation().
#define GIRDLE_ACTIVATION_COLUMNS "a.house, a.at, a.valid_from, a.approved_by, a.why"
inline constexpr int kActivationColumns = 5;
Activation row_activation(const Statement& row, int at);
// The columns of what was set aside, `a`, in the order of row_aside(), and where they come from.
#define GIRDLE_ASIDE_COLUMNS                                                                                  \
  "a.id, i.name, d.name, a.document, a.at, a.offset, a.length, a.line, a.reason, a.bytes, a.truncated, "      \
  "a.settled_at, a.tried_at, EXISTS (SELECT 1 FROM kept k WHERE k.document = a.document) FROM aside a "       \
  "JOIN intake i ON i.id = a.intake JOIN document d ON d.id = a.document "
AsideRow row_aside(const Statement& row, int at, bool with_bytes = true);
// The columns of a binding, in the order of row_binding().
#define GIRDLE_BINDING_COLUMNS "b.id, b.reading, b.stock, b.position, b.who, b.why, b.token, b.at"
BindingRow row_binding(const Statement& row, int at);
// Columns who, why, token.
Hand row_hand(const Statement& row, int at);
std::optional<base::Instant> row_time(const Statement& row, int column);
// Name, version, digest.
model::PolicyStamp row_stamp(const Statement& row, int at);
// All columns of `shadow`.
inline constexpr int kShadowColumns = 6;
ShadowRow row_shadow(const Statement& row, int at);

// The first bytes of a stored digest, as a number.
int64_t first_eight(std::string_view digest);
void split_key(std::string_view key, std::string& stock, std::string& position);

// Calls `each` for every row that is left of a started statement. It may give an error, with which the walk ends.
template <class Each>
base::Result<void> for_rows(Statement& statement, Each each) {
  for (;;) {
    auto row = statement.step();
    if (!row) return row.error();
    if (!*row) return {};
    if constexpr (std::is_void_v<decltype(each(statement))>) {
      each(statement);
    } else if (auto done = each(statement); !done) {
      statement.reset();
      return done;
    }
  }
}

}  // namespace girdle::ledger
