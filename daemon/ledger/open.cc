// Opening, closing, transactions.
#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <charconv>

#include "ledger/schema.h"
#include "ledger/state.h"

namespace girdle::ledger {
namespace {

// One writer, whoever asks: the lock is the kernel's and goes with the process.
base::Result<int> take_lock(const std::string& path) {
  const int lock = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (lock < 0) {
    return base::environment_error("ledger: cannot make " + path + ": " + base::errno_text(errno) +
                                   ". Its folder must exist and be writable for this user");
  }
  if (::flock(lock, LOCK_EX | LOCK_NB) != 0) {
    char text[32] = {};
    const ssize_t size = ::pread(lock, text, sizeof text - 1, 0);
    ::close(lock);
    return base::environment_error("ledger: another girdled is at work on it" +
                                   (size > 0 ? " (process " + std::string(text, static_cast<size_t>(size)) + ")"
                                             : std::string()) +
                                   "; one ledger has one writer, stop the other or name another file");
  }
  const std::string number = std::to_string(::getpid());
  if (::ftruncate(lock, 0) != 0 || ::pwrite(lock, number.data(), number.size(), 0) < 0) {
    // The number is a courtesy to the next one who is refused.
  }
  return lock;
}

// A file that lost its end opens without a word and fails much later: its header says how long it must be.
base::Result<void> check_length(Database& database, const std::filesystem::path& path) {
  std::error_code failed;
  const auto size = std::filesystem::file_size(path, failed);
  if (failed || size == 0) return {};
  const auto pages = database.number("PRAGMA page_count");
  if (!pages) return pages.error();
  const auto page_size = database.number("PRAGMA page_size");
  if (!page_size) return page_size.error();
  std::error_code no_log;
  const auto log = std::filesystem::file_size(path.string() + "-wal", no_log);
  const bool log_empty = no_log || log == 0;
  if (log_empty && static_cast<uint64_t>(*pages) * static_cast<uint64_t>(*page_size) > size) {
    return base::input_error("ledger " + path.string() + ": it is damaged: " + std::to_string(size) +
                             " bytes long, its header says " + std::to_string(*pages * *page_size) +
                             ". Nothing was changed; restore it from a copy");
  }
  return {};
}

base::Result<std::string> read_name(Database& database) {
  Statement select;
  if (auto done = select.prepare(database, "SELECT value FROM about WHERE name = 'name'"); !done) return done.error();
  auto row = select.start().step();
  if (!row) return row.error();
  if (!*row) return base::input_error("ledger: it has no name: it is damaged; restore it from a copy");
  return std::string(select.text(0));
}

}  // namespace

Ledger::State::~State() {
  if (lock >= 0) ::close(lock);
}

base::Result<void> Ledger::State::ready(Statement& statement, const char* sql) {
  if (statement.prepared()) return {};
  return statement.prepare(database, sql);
}

Ledger::Ledger(std::unique_ptr<State> state) : state_(std::move(state)) {}
Ledger::~Ledger() = default;

base::Result<std::unique_ptr<Ledger>> Ledger::open(const std::filesystem::path& path) { return open_on(path, nullptr); }

base::Result<std::unique_ptr<Ledger>> Ledger::open_on(const std::filesystem::path& path, const char* vfs) {
  auto state = std::make_unique<State>();
  auto lock = take_lock(path.string() + ".lock");
  if (!lock) return lock.error();
  state->lock = *lock;
  Database& database = state->database;
  if (auto done = database.open(path.string(), SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, vfs); !done) {
    return done.error();
  }
  // Before the settings below, some of which stay in the file: what is no ledger of ours is left as it is.
  if (auto done = database.execute("PRAGMA busy_timeout = 5000"); !done) return done.error();
  if (auto done = check_writable(database); !done) return done.error();
  // FULL: a commit is on the disk when it returns. The checkpoint is ours (tidy), so that no commit waits for it.
  for (const char* sql : {"PRAGMA journal_mode = WAL", "PRAGMA synchronous = FULL", "PRAGMA wal_autocheckpoint = 0",
                          "PRAGMA cache_size = -12000", "PRAGMA temp_store = MEMORY",
                          "PRAGMA journal_size_limit = 67108864"}) {
    if (auto done = database.execute(sql); !done) return done.error();
  }
  if (auto done = check_length(database, path); !done) return done.error();
  if (auto done = make_or_migrate(database); !done) return done.error();
  auto name = read_name(database);
  if (!name) return name.error();
  state->name = std::move(name).value();
  sqlite3_wal_hook(
      database.handle(),
      [](void* self, sqlite3*, const char*, int pages) {
        static_cast<State*>(self)->log_pages = static_cast<uint64_t>(pages);
        return SQLITE_OK;
      },
      state.get());
  return std::unique_ptr<Ledger>(new Ledger(std::move(state)));
}

base::Result<std::unique_ptr<Ledger>> Ledger::read(const std::filesystem::path& path) {
  if (!std::filesystem::exists(path)) {
    return base::input_error("ledger " + path.string() + ": there is none yet; `girdled run` makes it");
  }
  auto state = std::make_unique<State>();
  Database& database = state->database;
  if (auto done = database.open(path.string(), SQLITE_OPEN_READWRITE, nullptr); !done) return done.error();
  for (const char* sql : {"PRAGMA query_only = ON", "PRAGMA busy_timeout = 5000", "PRAGMA cache_size = -2000"}) {
    if (auto done = database.execute(sql); !done) return done.error();
  }
  if (auto done = check_version(database); !done) return done.error();
  auto name = read_name(database);
  if (!name) return name.error();
  state->name = std::move(name).value();
  return std::unique_ptr<Ledger>(new Ledger(std::move(state)));
}

const std::string& Ledger::name() const { return state_->name; }

std::string Ledger::case_id(Number case_number) const { return state_->name + "-" + std::to_string(case_number); }

std::optional<Number> Ledger::case_number(std::string_view case_id) const {
  if (case_id.size() < 10 || case_id.substr(0, 8) != state_->name || case_id[8] != '-') return std::nullopt;
  Number number = 0;
  const auto [end, error] = std::from_chars(case_id.data() + 9, case_id.data() + case_id.size(), number);
  if (error != std::errc() || end != case_id.data() + case_id.size()) return std::nullopt;
  return number;
}

base::Result<void> Ledger::begin() { return state_->database.execute("BEGIN IMMEDIATE"); }

base::Result<void> Ledger::commit() {
  auto done = state_->write_seen();
  if (done) done = state_->write_totals();
  if (done) done = state_->database.execute("COMMIT");
  if (done) state_->forget_changes();
  return done;
}

void Ledger::rollback() {
  (void)state_->database.execute("ROLLBACK");  // fails only where SQLite has rolled back by itself
  state_->intakes.clear();
  state_->stamps.clear();
  state_->instruments.clear();
  state_->outlets.clear();
  state_->last_slots.clear();
  state_->forget_changes();
}

bool Ledger::tidy(uint64_t pages) {
  if (state_->log_pages < pages) return false;
  // PASSIVE waits for nobody: what a reader still needs stays in the log until the next time.
  sqlite3_wal_checkpoint_v2(state_->database.handle(), nullptr, SQLITE_CHECKPOINT_PASSIVE, nullptr, nullptr);
  state_->log_pages = 0;
  return true;
}

}  // namespace girdle::ledger
