#include "ledger/sqlite.h"

#include <cassert>

namespace girdle::ledger {

Database::~Database() { sqlite3_close_v2(handle_); }

base::Result<void> Database::open(const std::string& path, int flags, const char* vfs) {
  // Counting SQLite's memory would take a lock for each piece of it, and nobody asks.
  static const int counts_no_memory = sqlite3_config(SQLITE_CONFIG_MEMSTATUS, 0);
  (void)counts_no_memory;
  path_ = path;
  const int code = sqlite3_open_v2(path.c_str(), &handle_, flags | SQLITE_OPEN_NOMUTEX, vfs);
  if (code != SQLITE_OK) return error("opening it");
  sqlite3_extended_result_codes(handle_, 1);
  return {};
}

base::Result<void> Database::execute(const char* sql) {
  if (sqlite3_exec(handle_, sql, nullptr, nullptr, nullptr) != SQLITE_OK) return error(sql);
  return {};
}

base::Result<int64_t> Database::number(const char* sql) {
  Statement statement;
  if (auto done = statement.prepare(*this, sql); !done) return done.error();
  auto row = statement.start().step();
  if (!row) return row.error();
  return *row ? statement.number(0) : 0;
}

base::Error Database::error(std::string_view doing) const {
  const int code = handle_ ? sqlite3_extended_errcode(handle_) : SQLITE_NOMEM;
  const char* const text = handle_ ? sqlite3_errmsg(handle_) : "out of memory";
  const std::string where = "ledger " + path_ + ": ";
  switch (code & 0xff) {
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return base::input_error(where + "it is damaged or no ledger (" + text +
                               "). Nothing was changed; restore it from a copy, or name another file under ledger: path");
    case SQLITE_FULL:
      return base::environment_error(where + "the disk is full. Nothing that was acknowledged is lost; free some room");
    case SQLITE_CANTOPEN:
      return base::environment_error(where + "cannot be opened (" + text +
                                     "). Its folder must exist and be writable for this user");
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return base::environment_error(where + "another program holds it locked");
    case SQLITE_READONLY:
      return base::environment_error(where + "this user may not write it (" + text + ")");
    default: {
      const int number = handle_ ? sqlite3_system_errno(handle_) : 0;
      std::string why = text;
      if (number != 0) why += ": " + base::errno_text(number);
      return base::environment_error(where + why + ", while " + std::string(doing.substr(0, 80)));
    }
  }
}

base::Error Database::damage(std::string_view what) const {
  return base::input_error("ledger " + path_ + ": it is damaged: " + std::string(what) +
                           ". Nothing was changed; restore it from a copy");
}

Statement::~Statement() { sqlite3_finalize(handle_); }

base::Result<void> Statement::prepare(const Database& database, std::string_view sql) {
  database_ = &database;
  const int code = sqlite3_prepare_v3(database.handle(), sql.data(), static_cast<int>(sql.size()),
                                      SQLITE_PREPARE_PERSISTENT, &handle_, nullptr);
  if (code != SQLITE_OK) return database.error(sql);
  return {};
}

Statement& Statement::start() {
  reset();
  next_ = 0;
  decimals_used_ = 0;
  return *this;
}

Statement& Statement::bind(int64_t value) {
  sqlite3_bind_int64(handle_, next_value(), value);
  return *this;
}

Statement& Statement::bind(std::string_view text) {
  // A null pointer would bind NULL; an empty text is a text.
  sqlite3_bind_text64(handle_, next_value(), text.data() ? text.data() : "", text.size(), SQLITE_STATIC, SQLITE_UTF8);
  return *this;
}

Statement& Statement::bind_blob(std::string_view bytes) {
  sqlite3_bind_blob64(handle_, next_value(), bytes.data() ? bytes.data() : "", bytes.size(), SQLITE_STATIC);
  return *this;
}

// Most columns of most rows are null, and were null in the row before.
Statement& Statement::bind_null() {
  const size_t place = static_cast<size_t>(next_++);
  assert(place < kMostParameters);
  if (has_value_[place]) sqlite3_bind_null(handle_, next_);
  has_value_[place] = false;
  return *this;
}

int Statement::next_value() {
  assert(static_cast<size_t>(next_) < kMostParameters);
  has_value_[static_cast<size_t>(next_)] = true;
  return ++next_;
}

Statement& Statement::bind(const std::optional<base::Decimal>& value) {
  if (!value) return bind_null();
  assert(decimals_used_ < std::size(decimals_));
  std::string& text = decimals_[decimals_used_++];
  text.clear();
  value->append_to(text);
  return bind(std::string_view(text));
}

Statement& Statement::bind_text_or_null(std::string_view text) { return text.empty() ? bind_null() : bind(text); }
Statement& Statement::bind_number_or_null(int64_t value) { return value == 0 ? bind_null() : bind(value); }

base::Result<bool> Statement::step() {
  stepped_ = true;
  const int code = sqlite3_step(handle_);
  if (code == SQLITE_ROW) return true;
  if (code == SQLITE_DONE) {
    reset();
    return false;
  }
  base::Error error = database_->error(sqlite3_sql(handle_));
  reset();
  return error;
}

base::Result<void> Statement::run() {
  auto row = step();
  if (!row) return row.error();
  reset();
  return {};
}

void Statement::reset() {
  if (stepped_) sqlite3_reset(handle_);
  stepped_ = false;
}

std::string_view Statement::text(int column) const {
  const auto* data = reinterpret_cast<const char*>(sqlite3_column_text(handle_, column));
  return data ? std::string_view(data, static_cast<size_t>(sqlite3_column_bytes(handle_, column))) : std::string_view();
}

std::string_view Statement::blob(int column) const {
  const auto* data = static_cast<const char*>(sqlite3_column_blob(handle_, column));
  return data ? std::string_view(data, static_cast<size_t>(sqlite3_column_bytes(handle_, column))) : std::string_view();
}

std::optional<base::Decimal> Statement::decimal(int column) const {
  return is_null(column) ? std::nullopt : base::Decimal::parse(text(column));
}

OneMoment::~OneMoment() {
  if (is_ours_ && in_transaction()) (void)database_.execute("COMMIT");  // of nothing: it cannot fail to be written
}

base::Result<void> OneMoment::begin() { return is_ours_ ? database_.execute("BEGIN") : base::Result<void>(); }

bool OneMoment::in_transaction() const { return sqlite3_get_autocommit(database_.handle()) == 0; }

}  // namespace girdle::ledger
