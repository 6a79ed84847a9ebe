#include "service/ledger_outbox.h"

#include <boost/asio/post.hpp>

namespace girdle::service {

namespace asio = boost::asio;

LedgerOutbox::LedgerOutbox(Writer& writer, Readers readers, const base::Clock& clock, std::string site,
                           asio::any_io_executor executor, base::Log log)
    : writer_(writer),
      readers_(std::move(readers)),
      clock_(clock),
      site_(std::move(site)),
      executor_(std::move(executor)),
      log_(std::move(log)) {}

LedgerOutbox::~LedgerOutbox() { loading_.join(); }

void LedgerOutbox::load(int64_t outlet, base::Instant now, size_t limit, const std::vector<int64_t>& except, Loaded done) {
  asio::post(loading_, [this, outlet, now, limit, except, done = std::move(done)]() mutable {
    Heads loaded = read_heads(outlet, now, limit, except);
    asio::post(executor_, [done = std::move(done), loaded = std::move(loaded)]() mutable {
      done(std::move(loaded.heads), loaded.next_due);
    });
  });
}

LedgerOutbox::Heads LedgerOutbox::read_heads(int64_t outlet, base::Instant now, size_t limit,
                                             const std::vector<int64_t>& except) {
  Heads out;
  auto read = readers_.of_loads->at_one_moment([&] { return read_rows(outlet, now, limit, except, out); });
  if (!read) {
    log_.error("deliveries cannot be read", {{"why", read.error().text}});
    out.next_due = now + std::chrono::seconds(5);
  }
  return out;
}

base::Result<void> LedgerOutbox::read_rows(int64_t outlet, base::Instant now, size_t limit,
                                           const std::vector<int64_t>& except, Heads& out) {
  auto rows = readers_.of_loads->due_deliveries(outlet, now, limit, except, &out.next_due);
  if (!rows) return rows.error();
  for (const ledger::DeliveryRow& row : *rows) {
    auto head = told_delivery(*readers_.of_loads, shelf_, row, site_, now);
    if (head) {
      out.heads.push_back(std::move(head).value());
    } else {
      log_.error("an outcome cannot be read", {{"why", head.error().text}});
    }
  }
  return {};
}

void LedgerOutbox::mark(Mark mark, Marked done) {
  ledger::DeliveryRow row;
  row.id = mark.delivery;
  row.state = mark.state;
  row.attempts = mark.attempts;
  if (mark.state == model::DeliveryState::kWaiting) row.due = mark.due;
  row.status = mark.status;
  row.note = std::move(mark.note);
  row.reference = std::move(mark.reference);
  row.changed_at = clock_.now();
  std::optional<ledger::AttemptRow> attempt;
  if (mark.made) {
    attempt = {mark.delivery, mark.attempts, mark.made->at, mark.made->took, row.status, row.note, std::move(mark.made->answer)};
  }
  writer_.mark(std::move(row), std::move(attempt), [executor = executor_, done = std::move(done)](
                                   bool committed, std::optional<model::Delivery> next) mutable {
    asio::post(executor, [done = std::move(done), committed, next = std::move(next)]() mutable {
      done(committed, std::move(next));
    });
  });
}

// Where the ledger cannot be read it is sent: one outcome too many is better than none.
bool LedgerOutbox::is_overtaken(const model::Delivery& delivery) {
  ledger::DeliveryRow row;
  row.id = delivery.id;
  row.outlet = delivery.outlet;
  row.case_number = delivery.case_number;
  row.sequence = delivery.outcome.sequence;
  const auto overtaken = readers_.of_questions->is_overtaken(row);
  if (!overtaken) log_.error("deliveries cannot be read", {{"why", overtaken.error().text}});
  return overtaken && *overtaken;
}

void LedgerOutbox::close_outlet(int64_t outlet, std::string reason) {
  writer_.act([outlet, reason = std::move(reason)](ledger::Ledger& ledger) { return ledger.close_outlet(outlet, reason); },
              {});
}

}  // namespace girdle::service
