// What girdled and the process of an isolated reader say to each other: frames over a stream
// socket. daemon/reader_host/README.md has the protocol.
//
// A frame is its head and its body: the body's size and the frame's type, four bytes each, least
// significant first, as all numbers here. A text is its size, four bytes, and its bytes.
#pragma once

#include <girdle/reader.h>

#include <algorithm>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::reading::wire {

constexpr uint32_t kProtocol = 1;
constexpr int kSocket = 3;  // its descriptor in the reader's process

enum class FrameType : uint32_t {
  // From girdled.
  kStart = 1,
  kBegin = 2,
  kFeed = 3,
  kEnd = 4,
  kDrop = 5,
  // From the reader's process.
  kReady = 16,
  kCannot = 17,
  kCreated = 18,
  kRefused = 19,
  kRecords = 20,
  kFed = 21,
  kDone = 22,
  kDropped = 23,
  kOutside = 24,
  kForbidden = 25,
};

constexpr size_t kHeadBytes = 8;
// The reader's process sends what it has when it is more than this.
constexpr size_t kBatchBytes = 64 << 10;
// As in document_reading.cc: a longer text of a record is no text.
constexpr uint64_t kMaxGrowth = 8;

// Of all names and values of one record.
constexpr uint64_t max_texts(uint64_t max_record_bytes) {
  return std::min<uint64_t>((64 << 10) + 2 * kMaxGrowth * max_record_bytes, uint64_t{1} << 31);
}
// Of one frame's body: a batch that was nearly full, and a record more.
constexpr uint64_t max_body(uint64_t max_record_bytes) {
  return 2 * kBatchBytes + max_texts(max_record_bytes);
}

// Appends to `out`, which lives longer.
class Writer {
 public:
  explicit Writer(std::string& out) : out_(out) {}

  Writer& u32(uint32_t value) { return number(value, 4); }
  Writer& u64(uint64_t value) { return number(value, 8); }
  Writer& text(std::string_view value) {
    u32(static_cast<uint32_t>(value.size()));
    out_.append(value);
    return *this;
  }

 private:
  Writer& number(uint64_t value, int bytes) {
    char low_first[8];
    for (int i = 0; i < bytes; ++i) low_first[i] = static_cast<char>(value >> (8 * i));
    out_.append(low_first, static_cast<size_t>(bytes));
    return *this;
  }
  std::string& out_;
};

// A frame in `out`, from the constructor on; its size is put in at the end of its life.
class FrameWriter : public Writer {
 public:
  FrameWriter(std::string& out, FrameType type) : Writer(out), frame_(out), begin_(out.size()) {
    u32(0).u32(static_cast<uint32_t>(type));
  }
  ~FrameWriter() { set_size(frame_, begin_); }
  FrameWriter(const FrameWriter&) = delete;
  FrameWriter& operator=(const FrameWriter&) = delete;

  // Of the frame that begins at `begin` and goes on to the end.
  static void set_size(std::string& out, size_t begin) {
    const size_t size = out.size() - begin - kHeadBytes;
    for (size_t i = 0; i < 4; ++i) out[begin + i] = static_cast<char>(size >> (8 * i));
  }

 private:
  std::string& frame_;
  size_t begin_;
};

// A frame without a body.
inline void put_frame(std::string& out, FrameType type) { const FrameWriter frame(out, type); }

// Takes a body apart, whatever it is. After a fault every number is 0 and every text empty.
class Parser {
 public:
  explicit Parser(std::string_view body) : rest_(body) {}

  uint8_t u8() { return number<uint8_t>(); }
  uint32_t u32() { return number<uint32_t>(); }
  uint64_t u64() { return number<uint64_t>(); }
  std::string_view text() { return take(u32()); }
  // Bytes of that size; nothing when there are not so many.
  std::string_view take(uint64_t size) {
    if (size > rest_.size()) {
      good_ = false;
      rest_ = {};
      return {};
    }
    const std::string_view taken = rest_.substr(0, size);
    rest_.remove_prefix(size);
    return taken;
  }

  bool good() const { return good_; }
  bool at_end() const { return rest_.empty(); }
  // All was there and nothing is left.
  bool done() const { return good_ && rest_.empty(); }

 private:
  template <class Number>
  Number number() {
    const std::string_view taken = take(sizeof(Number));
    if (taken.empty()) return 0;
    uint64_t value = 0;
    for (size_t i = 0; i < sizeof(Number); ++i)
      value |= uint64_t{static_cast<uint8_t>(taken[i])} << (8 * i);
    return static_cast<Number>(value);
  }
  std::string_view rest_;
  bool good_ = true;
};

struct Frame {
  FrameType type{};
  std::string_view body;  // until more bytes are added
};

// Bytes as they come, cut into frames.
class Frames {
 public:
  // A frame with a larger body is a fault.
  explicit Frames(uint64_t max_body) : max_body_(max_body) {}

  // Where to put bytes that come; what was put there is told by added().
  char* room(size_t size);
  void added(size_t size) { end_ += size; }

  // The next frame, if all of it is there.
  std::optional<Frame> next();
  bool broken() const { return broken_; }
  bool empty() const { return begin_ == end_; }

 private:
  std::string bytes_;
  size_t begin_ = 0, end_ = 0;  // of what is there and was not taken
  const uint64_t max_body_;
  bool broken_ = false;
};

// What follows the numbers of a record.
enum class Names : uint8_t {
  kNew = 0,    // names and values
  kKnown = 1,  // values; the names are those of the record before
  kNone = 2,   // nothing: there are no arrays, or the count is too large to look at them
};

// The records and asides of a batch: frames of the type kRecords.
//
// What a reader does wrong is carried over too, so that girdled's checks meet it as they would in
// one process: a null pointer, a struct that is too small, a text without its bytes.
class RecordWriter {
 public:
  RecordWriter(std::string& out, uint64_t max_record_bytes, uint64_t max_fields);

  void record(const girdle_record* record);
  void aside(const girdle_aside* aside);
  // Ends the batch that was begun; other frames may follow.
  void end_batch();
  // Another reader: its layouts are others.
  void forget_layout() { layout_ = 0; }

 private:
  void begin_batch();
  Names names_of(const girdle_record& record) const;
  void numbers(const girdle_record& record, Names names);
  void texts(const girdle_text* texts, size_t count);
  void text(const girdle_text& text, uint64_t most);

  std::string& out_;
  const uint64_t limit_, max_fields_;
  bool open_ = false;
  size_t begin_ = 0;
  uint32_t layout_ = 0;
  size_t count_ = 0;
  uint64_t left_ = 0;  // bytes that the texts of the record at hand may still have
};

// The other side: from whoever it is.
class RecordParser {
 public:
  explicit RecordParser(uint64_t max_fields) : max_fields_(max_fields) {}

  // Hands all of a batch to the host's emit and aside, until one of them does not say GIRDLE_OK.
  // False: the bytes are no batch.
  bool replay(std::string_view body, const girdle_reader_host& host);
  // The host wanted no more.
  bool stopped() const { return stopped_; }

 private:
  bool record(Parser& parser, const girdle_reader_host& host);
  bool aside(Parser& parser, const girdle_reader_host& host);
  bool take_names(Parser& parser, uint64_t count);
  bool take_texts(Parser& parser, uint64_t count, std::vector<girdle_text>& texts);
  void heard(girdle_status status) { stopped_ = stopped_ || status != GIRDLE_OK; }

  const uint64_t max_fields_;
  bool stopped_ = false;
  std::string name_bytes_;
  std::vector<girdle_text> names_, values_;
  uint32_t layout_ = 0;  // of names_
  bool has_names_ = false;
};

// A text that may be lost or too long: see RecordWriter.
girdle_text take_text(Parser& parser);
void put_text(std::string& out, const girdle_text& text, uint64_t longest);

}  // namespace girdle::reading::wire
