// Between an intake and the ledger: reads documents with the intake's reader and mapping, and submits what they hold.
// On the intake's thread; the writer's answers are posted back to it.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <memory>
#include <optional>
#include <string>

#include "base/log.h"
#include "intake/sink.h"
#include "ledger/ledger.h"
#include "model/content.h"
#include "reading/reader.h"
#include "service/reader_wait.h"
#include "service/writer.h"

namespace girdle::service {

// Where the intakes of one thread wait for the writer.
class Room {
 public:
  Room(boost::asio::any_io_executor executor, Writer& writer) : writer_(writer), timer_(std::move(executor)) {}

  // Returns when the writer's queue has room. Ends by throwing operation_aborted when cancelled.
  boost::asio::awaitable<void> wait();
  // On the intake's thread.
  void notify() { timer_.cancel(); }

 private:
  Writer& writer_;
  boost::asio::steady_timer timer_;
};

class IntakeSink final : public intake::Sink {
 public:
  // `lookups` is a read-only ledger of this thread.
  IntakeSink(std::string intake, std::shared_ptr<reading::Reader> reader, Writer& writer, ledger::Ledger& lookups,
             Room& room, boost::asio::any_io_executor executor, base::Log log);

  std::optional<model::FilePosition> position(std::string_view name) override;
  bool is_known(const base::Digest& digest) override;
  void begin(const model::Document& document, std::string_view resume) override;
  boost::asio::awaitable<void> feed(std::string_view bytes) override;
  boost::asio::awaitable<Read> finish(bool whole) override;
  boost::asio::awaitable<void> commit(std::optional<model::FilePosition> position, Done done) override;
  void abandon() override;
  boost::asio::awaitable<void> move_position(model::FilePosition position, Done done) override;
  boost::asio::awaitable<void> set_aside(const model::Document& document, model::Aside aside,
                                         std::optional<model::FilePosition> position, Done done) override;
  std::string trouble() const override { return trouble_; }

  // Of an isolated reader: starts its process, so that the first document need not wait for it.
  void warm_up() { reader_->warm_up(); }
  // Records and documents that were set aside since it was made.
  uint64_t set_aside_count() const { return set_aside_; }
  // Documents whose Done is still to come.
  size_t in_flight() const { return *in_flight_; }

 private:
  boost::asio::awaitable<void> read_slice(std::string_view bytes);
  // Until the reader, in a process of its own, has answered what was begun last.
  boost::asio::awaitable<void> answered(reading::Wait first);
  void on_fault();
  void tell_trouble();
  void tell_news();
  void submit(Batch batch, Done done);
  Batch next_piece(bool last);
  void keep(std::string_view bytes);

  std::string intake_;
  std::shared_ptr<reading::Reader> reader_;
  Writer& writer_;
  ledger::Ledger& lookups_;
  Room& room_;
  boost::asio::any_io_executor executor_;
  base::Log log_;
  ReaderWait wait_;
  std::string trouble_;  // with the reader, while it lasts
  std::optional<ledger::Number> number_;  // of the intake, once the ledger has it
  std::shared_ptr<size_t> in_flight_ = std::make_shared<size_t>(0);

  // The document under way.
  model::Document document_;
  std::optional<reading::DocumentReading> reading_;
  // All of it and the reader's state at its beginning, for reading it again; null = it is too large for that.
  std::shared_ptr<std::string> bytes_;
  std::string resume_;
  // What an isolated reader is given with the end of the document, in one exchange.
  std::string held_;
  bool fed_ = false;  // some of it was given before
  model::Records records_;
  model::ContentNumbers content_;
  bool first_ = true;
  bool whole_ = false;
  uint64_t set_aside_ = 0;
};

}  // namespace girdle::service
