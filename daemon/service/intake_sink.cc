#include "service/intake_sink.h"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>

namespace girdle::service {
namespace {

namespace asio = boost::asio;

constexpr size_t kPieceRecords = 1024;     // so many records of one document go to the writer at a time
constexpr size_t kMostKept = 1 << 20;       // bytes of a document that can be read again
constexpr size_t kSliceBytes = 64 * 1024;  // and so many bytes to the reader, which bounds what exceeds that

}  // namespace

asio::awaitable<void> Room::wait() {
  while (!writer_.has_room()) {
    boost::system::error_code ended;
    timer_.expires_at(asio::steady_timer::time_point::max());
    co_await timer_.async_wait(asio::redirect_error(asio::use_awaitable, ended));
    const auto state = co_await asio::this_coro::cancellation_state;
    if (state.cancelled() != asio::cancellation_type::none) {
      throw boost::system::system_error(asio::error::operation_aborted);
    }
  }
}

IntakeSink::IntakeSink(std::string intake, std::shared_ptr<reading::Reader> reader, Writer& writer,
                       ledger::Ledger& lookups, Room& room, asio::any_io_executor executor, base::Log log)
    : intake_(std::move(intake)),
      reader_(std::move(reader)),
      writer_(writer),
      lookups_(lookups),
      room_(room),
      executor_(std::move(executor)),
      log_(std::move(log)),
      wait_(executor_) {}

std::optional<model::FilePosition> IntakeSink::position(std::string_view name) {
  if (!number_) number_ = lookups_.find_intake(intake_);
  if (!number_) return std::nullopt;
  auto position = lookups_.position(*number_, name);
  if (position) position->intake = intake_;
  return position;
}

bool IntakeSink::is_known(const base::Digest& digest) {
  if (reader_->makes_declarations()) return false;
  if (!number_) number_ = lookups_.find_intake(intake_);
  return number_ && lookups_.knows_document(*number_, digest);
}

void IntakeSink::begin(const model::Document& document, std::string_view resume) {
  document_ = document;
  document_.intake = intake_;
  records_ = {};
  bytes_ = std::make_shared<std::string>();
  resume_ = resume;
  held_.clear();
  fed_ = false;
  first_ = true;
  whole_ = false;
  reading_.reset();
  auto begun = reader_->begin(resume);
  if (begun) {
    reading_.emplace(std::move(begun).value());
    return;
  }
  // The reader will not start: the document as a whole waits for a person.
  model::Aside aside;
  aside.place.length = document.size;
  aside.reason = begun.error().text;
  records_.asides.push_back(std::move(aside));
}

void IntakeSink::keep(std::string_view bytes) {
  if (!bytes_) return;
  if (bytes_->size() + bytes.size() <= kMostKept) {
    *bytes_ += bytes;
  } else {
    bytes_.reset();
  }
}

asio::awaitable<void> IntakeSink::feed(std::string_view bytes) {
  keep(bytes);
  if (!reading_) co_return;
  if (reader_->is_isolated() && !fed_) {
    if (held_.size() + bytes.size() <= kSliceBytes) {
      held_ += bytes;
      co_return;
    }
    const std::string held = std::exchange(held_, {});
    if (!held.empty()) co_await read_slice(held);
  }
  while (!bytes.empty()) {
    const std::string_view slice = bytes.substr(0, kSliceBytes);
    co_await read_slice(slice);
    bytes.remove_prefix(slice.size());
  }
}

asio::awaitable<void> IntakeSink::read_slice(std::string_view bytes) {
  fed_ = true;
  reading_->start_feed(bytes, records_);
  if (const auto wait = reading_->step()) co_await answered(*wait);
  if (records_.size() < kPieceRecords) co_return;
  co_await room_.wait();
  submit(next_piece(false), nullptr);
}

asio::awaitable<void> IntakeSink::answered(reading::Wait first) {
  for (std::optional<reading::Wait> wait = first; wait; wait = reading_->step()) {
    tell_trouble();
    co_await wait_.until(*wait);
  }
}

asio::awaitable<intake::Sink::Read> IntakeSink::finish(bool whole) {
  whole_ = whole;
  Read read{document_.size, {}};
  if (!reading_) co_return read;
  if (fed_ || !reader_->is_isolated()) {
    reading_->start_finish(whole, records_);
  } else {
    reading_->start_all(held_, whole, records_);
  }
  if (const auto wait = reading_->step()) co_await answered(*wait);
  if (!reading_->fault().empty()) {
    on_fault();
  } else if (!trouble_.empty()) {
    log_.info("the reader is well again", {{"intake", intake_}});
    trouble_.clear();
  }
  tell_news();
  read.consumed = reading_->consumed();
  read.resume = reading_->resume();
  co_return read;
}

// Not the document's fault: a reader that was mended may be given the same bytes again.
void IntakeSink::on_fault() {
  whole_ = false;
  if (trouble_ == reading_->fault()) return;  // each document that is set aside is told with its commit
  trouble_ = reading_->fault();
  log_.error("reader given up", {{"intake", intake_}, {"document", document_.name}, {"why", trouble_}});
}

// The document waits until its reader can be started.
void IntakeSink::tell_trouble() {
  std::string trouble = reading_->trouble();
  if (trouble.empty() || trouble == trouble_) return;
  trouble_ = std::move(trouble);
  log_.error("reader cannot be started; it is tried again", {{"intake", intake_}, {"why", trouble_}});
}

void IntakeSink::tell_news() {
  const reading::ReaderNews news = reader_->take_news();
  if (!news.warning.empty()) {
    log_.warning("reader started anew", {{"intake", intake_}, {"why", "it " + news.warning}});
  }
  if (!news.said.empty()) {
    log_.debug("reader wrote to standard error",
               {{"intake", intake_}, {"document", document_.name}, {"what", news.said}});
  }
}

Batch IntakeSink::next_piece(bool last) {
  Batch batch;
  batch.document = document_;
  set_aside_ += records_.asides.size();
  batch.records = std::move(records_);
  // Here and not by the writer, which has enough to do.
  batch.contents.reserve(batch.records.readings.size());
  for (const model::Reading& reading : batch.records.readings) batch.contents.push_back(content_.of(reading));
  batch.first = first_;
  batch.last = last;
  records_ = {};
  first_ = false;
  return batch;
}

asio::awaitable<void> IntakeSink::commit(std::optional<model::FilePosition> position, Done done) {
  co_await room_.wait();
  Batch batch = next_piece(true);
  batch.bytes = std::move(bytes_);
  batch.resume = std::move(resume_);
  batch.whole_file = whole_ && position.has_value() && document_.offset == 0;
  if (!batch.records.asides.empty()) {
    log_.warning("set aside", {{"intake", intake_},
                               {"document", document_.name},
                               {"records", batch.records.asides.size()},
                               {"first", batch.records.asides.front().reason}});
  }
  batch.position = std::move(position);
  reading_.reset();
  submit(std::move(batch), std::move(done));
}

void IntakeSink::abandon() {
  reading_.reset();
  records_ = {};
  bytes_.reset();
  held_.clear();
}

asio::awaitable<void> IntakeSink::move_position(model::FilePosition position, Done done) {
  co_await room_.wait();
  Batch batch;
  batch.document.intake = intake_;
  batch.only_position = true;
  batch.position = std::move(position);
  submit(std::move(batch), std::move(done));
}

asio::awaitable<void> IntakeSink::set_aside(const model::Document& document, model::Aside aside,
                                            std::optional<model::FilePosition> position, Done done) {
  co_await room_.wait();
  log_.warning("set aside", {{"intake", intake_}, {"document", document.name}, {"why", aside.reason}});
  ++set_aside_;
  Batch batch;
  batch.document = document;
  batch.document.intake = intake_;
  batch.records.asides.push_back(std::move(aside));
  batch.position = std::move(position);
  submit(std::move(batch), std::move(done));
}

void IntakeSink::submit(Batch batch, Done done) {
  if (!done) {
    writer_.submit(std::move(batch), nullptr);
    return;
  }
  ++*in_flight_;
  writer_.submit(std::move(batch),
                 [executor = executor_, in_flight = in_flight_, done = std::move(done)](bool committed) mutable {
                   asio::post(executor, [in_flight, done = std::move(done), committed] {
                     --*in_flight;
                     done(committed);
                   });
                 });
}

}  // namespace girdle::service
