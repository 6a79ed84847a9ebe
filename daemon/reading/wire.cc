#include "reading/wire.h"

#include <cstring>
#include <span>

namespace girdle::reading::wire {
namespace {

// Instead of a text's size. No text is so long.
constexpr uint32_t kLost = 0xFFFFFFFF;     // a size, and no bytes: a null pointer
constexpr uint32_t kTooLong = 0xFFFFFFFE;  // more than a text may have

constexpr size_t kMaxReasonBytes = 4096;  // more than anybody will read of it
constexpr size_t kKeptRoom = 1 << 20;     // of a buffer that was needed once

enum class Item : uint8_t { kRecord = 1, kAside = 2, kNullRecord = 3, kNullAside = 4 };

char* put(char* at, uint64_t value, size_t bytes) {
  for (size_t i = 0; i < bytes; ++i) *at++ = static_cast<char>(value >> (8 * i));
  return at;
}

char* put_bytes(char* at, const girdle_text& text) {
  if (text.size > 0) std::memcpy(at, text.data, text.size);
  return at + text.size;
}

}  // namespace

char* Frames::room(size_t size) {
  if (begin_ == end_) {
    begin_ = end_ = 0;
    if (bytes_.size() > kKeptRoom) bytes_ = std::string();
  }
  if (bytes_.size() - end_ < size && begin_ > 0) {
    std::memmove(bytes_.data(), bytes_.data() + begin_, end_ - begin_);
    end_ -= begin_;
    begin_ = 0;
  }
  // At most twice what has come: a size that is told and not sent costs nothing.
  if (bytes_.size() - end_ < size) bytes_.resize(std::max(end_ + size, 2 * end_));
  return bytes_.data() + end_;
}

std::optional<Frame> Frames::next() {
  const std::string_view there(bytes_.data() + begin_, end_ - begin_);
  if (broken_ || there.size() < kHeadBytes) return std::nullopt;
  Parser head(there);
  const uint32_t size = head.u32();
  const auto type = static_cast<FrameType>(head.u32());
  if (size > max_body_) {
    broken_ = true;
    return std::nullopt;
  }
  if (there.size() - kHeadBytes < size) return std::nullopt;
  begin_ += kHeadBytes + size;
  return Frame{type, there.substr(kHeadBytes, size)};
}

void put_text(std::string& out, const girdle_text& text, uint64_t longest) {
  Writer writer(out);
  if (text.size > longest) {
    writer.u32(kTooLong);
  } else if (text.size > 0 && text.data == nullptr) {
    writer.u32(kLost);
  } else {
    writer.text({text.data, text.size});
  }
}

girdle_text take_text(Parser& parser) {
  const uint32_t size = parser.u32();
  if (size == kLost) return {nullptr, 1};
  if (size == kTooLong) return {"", SIZE_MAX};
  const std::string_view bytes = parser.take(size);
  return {bytes.data(), bytes.size()};
}

RecordWriter::RecordWriter(std::string& out, uint64_t max_record_bytes, uint64_t max_fields)
    : out_(out), limit_(max_record_bytes), max_fields_(max_fields) {}

void RecordWriter::begin_batch() {
  if (open_) return;
  begin_ = out_.size();
  Writer(out_).u32(0).u32(static_cast<uint32_t>(FrameType::kRecords));
  open_ = true;
}

void RecordWriter::end_batch() {
  if (open_) FrameWriter::set_size(out_, begin_);
  open_ = false;
}

void RecordWriter::record(const girdle_record* record) {
  begin_batch();
  if (record == nullptr) {
    out_.push_back(static_cast<char>(Item::kNullRecord));
    return;
  }
  girdle_record r{};
  r.size = record->size;
  if (r.size >= sizeof r) std::memcpy(&r, record, sizeof r);
  const Names names = names_of(r);
  numbers(r, names);
  if (names == Names::kNone) return;
  left_ = max_texts(limit_);
  if (names == Names::kNew) texts(r.names, r.count);
  texts(r.values, r.count);
  layout_ = r.layout;
  count_ = r.count;
}

Names RecordWriter::names_of(const girdle_record& r) const {
  const bool can_be_read = r.size >= sizeof r && r.names != nullptr && r.values != nullptr;
  if (!can_be_read || r.count > max_fields_) return Names::kNone;
  const bool known = r.layout != 0 && r.layout == layout_ && r.count == count_;
  return known ? Names::kKnown : Names::kNew;
}

void RecordWriter::numbers(const girdle_record& r, Names names) {
  constexpr size_t kSize = 1 + 4 + 4 + 4 * 8 + 1;
  const size_t from = out_.size();
  out_.resize(from + kSize);
  char* at = out_.data() + from;
  *at++ = static_cast<char>(Item::kRecord);
  at = put(at, r.size, 4);
  at = put(at, r.layout, 4);
  for (const uint64_t number : {r.offset, r.length, r.line, static_cast<uint64_t>(r.count)})
    at = put(at, number, 8);
  *at = static_cast<char>(names);
}

void RecordWriter::texts(const girdle_text* texts, size_t count) {
  const uint64_t longest = std::min(kMaxGrowth * limit_, uint64_t{kTooLong} - 1);
  uint64_t size = 4 * count;
  bool all_good = true;
  for (const girdle_text& one : std::span(texts, count)) {
    all_good = all_good && one.size <= longest && (one.size == 0 || one.data != nullptr);
    size += all_good ? one.size : 0;
  }
  if (!all_good || size > left_) {
    for (const girdle_text& one : std::span(texts, count)) text(one, std::min(longest, left_));
    return;
  }
  left_ -= size;
  const size_t from = out_.size();
  out_.resize(from + size);
  char* at = out_.data() + from;
  for (const girdle_text& one : std::span(texts, count)) at = put_bytes(put(at, one.size, 4), one);
}

void RecordWriter::text(const girdle_text& text, uint64_t longest) {
  const size_t before = out_.size();
  put_text(out_, text, longest);
  left_ -= std::min<uint64_t>(left_, out_.size() - before);
}

void RecordWriter::aside(const girdle_aside* aside) {
  begin_batch();
  if (aside == nullptr) {
    out_.push_back(static_cast<char>(Item::kNullAside));
    return;
  }
  girdle_aside a{};
  a.size = aside->size;
  if (a.size >= sizeof a) std::memcpy(&a, aside, sizeof a);
  const uint64_t longest = std::min(kMaxGrowth * limit_, uint64_t{kTooLong} - 1);
  if (a.reason.size <= longest) a.reason.size = std::min(a.reason.size, kMaxReasonBytes);
  out_.push_back(static_cast<char>(Item::kAside));
  Writer(out_).u32(a.size).u64(a.offset).u64(a.length).u64(a.line);
  put_text(out_, a.reason, longest);
}

bool RecordParser::replay(std::string_view body, const girdle_reader_host& host) {
  Parser parser(body);
  while (!stopped_ && parser.good() && !parser.at_end()) {
    bool known = true;
    switch (static_cast<Item>(parser.u8())) {
      case Item::kRecord:
        known = record(parser, host);
        break;
      case Item::kAside:
        known = aside(parser, host);
        break;
      case Item::kNullRecord:
        heard(host.emit(&host, nullptr));
        break;
      case Item::kNullAside:
        heard(host.aside(&host, nullptr));
        break;
      default:
        known = false;
    }
    if (!known) return false;
  }
  return parser.good();
}

bool RecordParser::record(Parser& parser, const girdle_reader_host& host) {
  girdle_record r{};
  r.size = parser.u32();
  r.layout = parser.u32();
  r.offset = parser.u64();
  r.length = parser.u64();
  r.line = parser.u64();
  r.count = parser.u64();
  switch (static_cast<Names>(parser.u8())) {
    case Names::kNew:
      if (!take_names(parser, r.count)) return false;
      layout_ = r.layout;
      break;
    case Names::kKnown:
      // Layout 0 is no promise, and nothing that this side remembers.
      if (!has_names_ || r.layout == 0 || r.layout != layout_ || r.count != names_.size())
        return false;
      break;
    case Names::kNone:
      if (!parser.good()) return false;
      // With a count of 0 there is nothing to miss.
      heard(host.emit(&host, &r));
      return true;
    default:
      return false;
  }
  if (!take_texts(parser, r.count, values_)) return false;
  r.names = names_.data();
  r.values = values_.data();
  heard(host.emit(&host, &r));
  return true;
}

bool RecordParser::aside(Parser& parser, const girdle_reader_host& host) {
  girdle_aside a{};
  a.size = parser.u32();
  a.offset = parser.u64();
  a.length = parser.u64();
  a.line = parser.u64();
  a.reason = take_text(parser);
  if (!parser.good()) return false;
  heard(host.aside(&host, &a));
  return true;
}

// Names outlive the batch: those of a layout are told once.
bool RecordParser::take_names(Parser& parser, uint64_t count) {
  has_names_ = false;
  if (!take_texts(parser, count, names_)) return false;
  name_bytes_.clear();
  for (const girdle_text& name : names_) {
    if (name.size != SIZE_MAX && name.data != nullptr) name_bytes_.append(name.data, name.size);
  }
  const char* at = name_bytes_.data();
  for (girdle_text& name : names_) {
    if (name.size == SIZE_MAX || name.data == nullptr) continue;
    name.data = at;
    at += name.size;
  }
  has_names_ = true;
  return true;
}

bool RecordParser::take_texts(Parser& parser, uint64_t count, std::vector<girdle_text>& texts) {
  if (count > max_fields_) return false;
  texts.resize(count);
  for (girdle_text& text : texts) text = take_text(parser);
  return parser.good();
}

}  // namespace girdle::reading::wire
