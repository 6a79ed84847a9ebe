// The ledger as delivery sees it: loads heads with a reader of its own, marks through the writer.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <memory>

#include "base/log.h"
#include "delivery/outbox.h"
#include "ledger/ledger.h"
#include "service/house_shelf.h"
#include "service/writer.h"

namespace girdle::service {

// On the delivery thread.
class LedgerOutbox final : public delivery::Outbox {
 public:
  LedgerOutbox(Writer& writer, std::unique_ptr<ledger::Ledger> lookups, const base::Clock& clock, std::string site,
               boost::asio::any_io_executor executor, base::Log log);

  void load(int64_t outlet, base::Instant now, size_t limit, const std::vector<int64_t>& except, Loaded done) override;
  void mark(Mark mark, Marked done) override;
  bool is_overtaken(const model::Delivery& delivery) override;
  void close_outlet(int64_t outlet, std::string reason) override;

 private:
  Writer& writer_;
  std::unique_ptr<ledger::Ledger> lookups_;
  const base::Clock& clock_;
  std::string site_;
  boost::asio::any_io_executor executor_;
  base::Log log_;
  HouseShelf shelf_{*lookups_};
};

}  // namespace girdle::service
