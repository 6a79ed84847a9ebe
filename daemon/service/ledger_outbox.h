// The ledger as delivery sees it: loads heads on a thread and with a reader of its own, marks through the writer.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/thread_pool.hpp>
#include <memory>

#include "base/log.h"
#include "delivery/outbox.h"
#include "ledger/ledger.h"
#include "service/house_shelf.h"
#include "service/writer.h"

namespace girdle::service {

// On the delivery thread, whose executor it is given. To put together what an outlet is told takes longer than to send it,
// and must not hold up what is being sent; so that has the loading thread.
class LedgerOutbox final : public delivery::Outbox {
 public:
  // Two readers of the same ledger: for each of the threads one.
  struct Readers {
    std::unique_ptr<ledger::Ledger> of_loads, of_questions;
  };
  LedgerOutbox(Writer& writer, Readers readers, const base::Clock& clock, std::string site,
               boost::asio::any_io_executor executor, base::Log log);
  // Waits for the load under way.
  ~LedgerOutbox() override;

  void load(int64_t outlet, base::Instant now, size_t limit, const std::vector<int64_t>& except, Loaded done) override;
  void mark(Mark mark, Marked done) override;
  bool is_overtaken(const model::Delivery& delivery) override;
  void close_outlet(int64_t outlet, std::string reason) override;

 private:
  struct Heads {
    std::vector<model::Delivery> heads;
    base::Instant next_due = base::Instant::max();
  };
  Heads read_heads(int64_t outlet, base::Instant now, size_t limit, const std::vector<int64_t>& except);
  base::Result<void> read_rows(int64_t outlet, base::Instant now, size_t limit, const std::vector<int64_t>& except, Heads& out);

  Writer& writer_;
  Readers readers_;
  const base::Clock& clock_;
  std::string site_;
  boost::asio::any_io_executor executor_;
  base::Log log_;
  HouseShelf shelf_{*readers_.of_loads};  // of the loading thread
  boost::asio::thread_pool loading_{1};
};

}  // namespace girdle::service
