#include "reader_host/document_host.h"

#include <unistd.h>

#include <cerrno>

namespace girdle::reader_host {
namespace {

namespace wire = reading::wire;

constexpr size_t kRead = 64 << 10;
constexpr int kNobodyThere = 0;

}  // namespace

wire::Frame Connection::next() {
  for (;;) {
    if (auto frame = frames_.next()) return *frame;
    if (frames_.broken()) _exit(kNobodyThere);
    flush();
    const ssize_t size = ::read(wire::kSocket, frames_.room(kRead), kRead);
    if (size > 0) {
      frames_.added(static_cast<size_t>(size));
    } else if (size == 0 || errno != EINTR) {
      _exit(kNobodyThere);
    }
  }
}

void Connection::flush() {
  for (std::string_view left = out_; !left.empty();) {
    const ssize_t size = ::write(wire::kSocket, left.data(), left.size());
    if (size > 0) {
      left.remove_prefix(static_cast<size_t>(size));
    } else if (errno != EINTR) {
      _exit(kNobodyThere);
    }
  }
  out_.clear();
}

DocumentHost::DocumentHost(Connection& connection, const girdle_reader_descriptor& descriptor,
                           Setup setup)
    : connection_(connection),
      descriptor_(descriptor),
      setup_(std::move(setup)),
      records_(connection.out(), setup_.max_record_bytes, setup_.max_fields) {
  for (const auto& [name, value] : setup_.options)
    lent_.push_back({{name.data(), name.size()}, {value.data(), value.size()}});
  host_ = {
      .size = sizeof(girdle_reader_host),
      .abi = GIRDLE_READER_ABI,
      .context = this,
      .emit = &on_emit,
      .aside = &on_aside,
      .refuse = &on_refuse,
      .extension = [](const girdle_reader_host*, const char*) -> const void* { return nullptr; }};
}

void DocumentHost::serve() {
  for (;;) answer(connection_.next());
}

void DocumentHost::answer(const Frame& frame) {
  switch (frame.type) {
    case FrameType::kBegin:
      return begin(frame.body);
    case FrameType::kFeed:
      return feed(frame.body);
    case FrameType::kEnd:
      return end(frame.body);
    case FrameType::kDrop:
      return drop();
    default:
      _exit(kNobodyThere);  // not the girdled of this program
  }
}

wire::FrameWriter DocumentHost::frame(FrameType type) {
  records_.end_batch();
  return {connection_.out(), type};
}

void DocumentHost::begin(std::string_view body) {
  wire::Parser parser(body);
  const std::string_view resume = parser.text();
  const girdle_reader_setup setup{.size = sizeof(girdle_reader_setup),
                                  .reserved = 0,
                                  .max_record_bytes = setup_.max_record_bytes,
                                  .max_fields = setup_.max_fields,
                                  .option_count = lent_.size(),
                                  .options = lent_.data(),
                                  .resume = {resume.data(), resume.size()}};
  destroy();
  records_.forget_layout();
  refusal_.clear();
  reader_ = descriptor_.create(&host_, &setup);
  if (reader_ != nullptr) {
    frame(FrameType::kCreated);
  } else {
    frame(FrameType::kRefused).text(refusal_);
  }
}

// What is fed to a reader that refused, or gave up, is passed over: girdled had sent it before it
// knew.
void DocumentHost::feed(std::string_view bytes) {
  if (reader_ == nullptr) return;
  in_call_ = true;
  const girdle_status status = descriptor_.feed(reader_, bytes.data(), bytes.size());
  in_call_ = false;
  const uint64_t consumed = status == GIRDLE_OK ? descriptor_.consumed(reader_) : 0;
  if (status != GIRDLE_OK) destroy();
  frame(FrameType::kFed).u32(static_cast<uint32_t>(status)).u64(consumed);
}

void DocumentHost::end(std::string_view body) {
  if (reader_ == nullptr) return;
  const bool whole = wire::Parser(body).u32() != 0;
  girdle_status status = GIRDLE_OK, saved = GIRDLE_FAILED;
  uint64_t consumed = 0;
  girdle_text lent{};
  if (whole) {
    in_call_ = true;
    status = descriptor_.finish(reader_);
    in_call_ = false;
  }
  if (status == GIRDLE_OK) {
    consumed = descriptor_.consumed(reader_);
    saved = descriptor_.save(reader_, &lent);
  }
  std::string state;
  wire::put_text(state, lent, wire::kMaxGrowth * setup_.max_record_bytes);
  // Before the answer: what goes wrong in it belongs to this document.
  destroy();
  wire::FrameWriter done = frame(FrameType::kDone);
  done.u32(static_cast<uint32_t>(status)).u64(consumed).u32(static_cast<uint32_t>(saved));
  connection_.out() += state;
}

void DocumentHost::drop() {
  destroy();
  frame(FrameType::kDropped);
}

void DocumentHost::destroy() {
  if (reader_ != nullptr) descriptor_.destroy(std::exchange(reader_, nullptr));
}

bool DocumentHost::takes_calls() {
  if (!in_call_) frame(FrameType::kOutside);
  return in_call_;
}

void DocumentHost::told() {
  if (connection_.out().size() < wire::kBatchBytes) return;
  records_.end_batch();
  connection_.flush();
}

girdle_status DocumentHost::on_emit(const girdle_reader_host* host,
                                    const girdle_record* record) noexcept {
  DocumentHost& self = of(host);
  if (!self.takes_calls()) return GIRDLE_STOP;
  self.records_.record(record);
  self.told();
  return GIRDLE_OK;
}

girdle_status DocumentHost::on_aside(const girdle_reader_host* host,
                                     const girdle_aside* aside) noexcept {
  DocumentHost& self = of(host);
  if (!self.takes_calls()) return GIRDLE_STOP;
  self.records_.aside(aside);
  self.told();
  return GIRDLE_OK;
}

void DocumentHost::on_refuse(const girdle_reader_host* host, girdle_text reason) noexcept {
  constexpr size_t kMost = 1 << 20;  // as girdled itself takes it
  if (reason.size == 0 || reason.data == nullptr || reason.size >= kMost) return;
  of(host).refusal_.assign(reason.data, std::min<size_t>(reason.size, 4096));
}

}  // namespace girdle::reader_host
