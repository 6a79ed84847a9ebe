// Frames and batches between girdled and a reader's process; the layout is that of
// daemon/reader_host/README.md.
#include "reading/wire.h"

#include <gmock/gmock.h>

#include <random>

namespace girdle::reading::wire {
namespace {

using testing::ElementsAre;
using testing::SizeIs;

girdle_text lend(std::string_view text) { return {text.data(), text.size()}; }

// Whether a text can be looked at is said by its size and pointer alone.
std::string shown(const girdle_text& text) {
  if (text.size == SIZE_MAX) return "<too long>";
  if (text.data == nullptr && text.size > 0) return "<lost>";
  return {text.data, text.size};
}

// What a batch says to a host, a line each.
class Heard {
 public:
  explicit Heard(girdle_status status = GIRDLE_OK) : status_(status) {
    host_.size = sizeof host_;
    host_.context = this;
    host_.emit = [](const girdle_reader_host* host, const girdle_record* record) {
      return static_cast<Heard*>(host->context)->record(record);
    };
    host_.aside = [](const girdle_reader_host* host, const girdle_aside* aside) {
      return static_cast<Heard*>(host->context)->aside(aside);
    };
  }
  const girdle_reader_host& host() const { return host_; }
  std::vector<std::string> lines;

 private:
  girdle_status record(const girdle_record* r) {
    if (r == nullptr) return add("no record");
    std::string line = "record " + std::to_string(r->size) + " layout " +
                       std::to_string(r->layout) + ' ' + std::to_string(r->offset) + '+' +
                       std::to_string(r->length) + " line " + std::to_string(r->line) + " count " +
                       std::to_string(r->count);
    for (size_t i = 0; r->names != nullptr && r->values != nullptr && i < r->count; ++i)
      line += ' ' + shown(r->names[i]) + '=' + shown(r->values[i]);
    return add(line);
  }
  girdle_status aside(const girdle_aside* a) {
    if (a == nullptr) return add("no aside");
    return add("aside " + std::to_string(a->size) + ' ' + std::to_string(a->offset) + '+' +
               std::to_string(a->length) + " line " + std::to_string(a->line) + ' ' +
               shown(a->reason));
  }
  girdle_status add(std::string line) {
    lines.push_back(std::move(line));
    return status_;
  }
  girdle_status status_;
  girdle_reader_host host_{};
};

constexpr uint64_t kLimit = 64, kFields = 10;
const std::string kRecordSize = std::to_string(sizeof(girdle_record));

// The body of the batch that `out` is.
std::string_view body_of(const std::string& out) {
  return std::string_view(out).substr(kHeadBytes);
}

TEST(Wire, CarriesRecordsAndAsidesOver) {
  std::string out;
  RecordWriter writer(out, kLimit, kFields);
  const girdle_text names[] = {lend("item"), lend("")};
  const girdle_text values[] = {lend("R1\n\0x"), {nullptr, 0}};
  girdle_record record{sizeof record, 7, 3, 5, UINT64_MAX, 2, names, values};
  writer.record(&record);
  record.offset = 9;
  writer.record(&record);
  const girdle_aside aside{sizeof aside, 0, 20, 0, 4, lend("a broken quote")};
  writer.aside(&aside);
  record.layout = 0;
  writer.record(&record);
  writer.end_batch();

  Heard heard;
  RecordParser parser(kFields);
  EXPECT_TRUE(parser.replay(body_of(out), heard.host()));
  EXPECT_FALSE(parser.stopped());
  const std::string fields = std::string(" line 18446744073709551615 count 2 item=R1\n =");
  EXPECT_THAT(heard.lines,
              ElementsAre("record " + kRecordSize + " layout 7 3+5" + fields,
                          "record " + kRecordSize + " layout 7 9+5" + fields,
                          "aside " + std::to_string(sizeof aside) + " 20+0 line 4 a broken quote",
                          "record " + kRecordSize + " layout 0 9+5" + fields));
}

TEST(Wire, TellsTheNamesOfALayoutOnce) {
  std::string out;
  RecordWriter writer(out, kLimit, kFields);
  const girdle_text name = lend("a name that can be told from its values"), value = lend("v");
  const girdle_record record{sizeof record, 1, 0, 1, 1, 1, &name, &value};
  const auto size_of_next = [&] {
    const size_t before = out.size();
    writer.record(&record);
    return out.size() - before;
  };
  size_of_next();
  const size_t without = size_of_next();
  writer.forget_layout();
  EXPECT_EQ(size_of_next(), without + 4 + name.size);
}

TEST(Wire, CarriesOverWhatIsWrongWithARecord) {
  std::string out;
  RecordWriter writer(out, kLimit, kFields);
  const girdle_text name = lend("item"), value = lend("R1");
  const girdle_text lost{nullptr, 5}, endless{"x", SIZE_MAX / 2};
  const girdle_record good{sizeof good, 0, 1, 2, 3, 1, &name, &value};
  girdle_record bad = good;
  bad.size = 8;
  writer.record(&bad);
  writer.record(nullptr);
  (bad = good).names = nullptr;
  writer.record(&bad);
  (bad = good).values = &lost;
  writer.record(&bad);
  (bad = good).names = &endless;
  writer.record(&bad);
  (bad = good).count = 1'000'000;
  writer.record(&bad);
  girdle_aside aside{4, 0, 1, 1, 1, lend("x")};
  writer.aside(&aside);
  writer.aside(nullptr);
  aside = {sizeof aside, 0, 1, 1, 1, lost};
  writer.aside(&aside);
  writer.end_batch();

  Heard heard;
  EXPECT_TRUE(RecordParser(kFields).replay(body_of(out), heard.host()));
  const std::string start = "record " + kRecordSize + " layout 0 1+2 line 3 count ";
  EXPECT_THAT(heard.lines,
              ElementsAre("record 8 layout 0 0+0 line 0 count 0", "no record", start + "1",
                          start + "1 item=<lost>", start + "1 <too long>=R1", start + "1000000",
                          "aside 4 0+0 line 0 ", "no aside",
                          "aside " + std::to_string(sizeof aside) + " 1+1 line 1 <lost>"));
}

TEST(Wire, StopsWhenTheHostWantsNoMore) {
  std::string out;
  RecordWriter writer(out, kLimit, kFields);
  for (int i = 0; i < 3; ++i) writer.record(nullptr);
  writer.end_batch();
  Heard heard(GIRDLE_STOP);
  RecordParser parser(kFields);
  EXPECT_TRUE(parser.replay(body_of(out), heard.host()));
  EXPECT_TRUE(parser.stopped());
  EXPECT_THAT(heard.lines, SizeIs(1));
}

// However large the texts are that a reader shows: no frame is larger than girdled takes.
TEST(Wire, KeepsARecordsTextsWithinWhatAFrameMayHave) {
  std::string out;
  RecordWriter writer(out, kLimit, kFields);
  const std::string large(kMaxGrowth * kLimit, 'x');
  const std::vector<girdle_text> texts(kFields, lend(large));
  const std::string name(30'000, 'n');
  const std::vector<girdle_text> names(kFields, lend(name));
  const girdle_record record{sizeof record, 0, 0, 1, 1, kFields, texts.data(), texts.data()};
  const girdle_record with_names{sizeof record, 0, 0, 1, 1, kFields, names.data(), texts.data()};
  writer.record(&record);
  writer.record(&with_names);
  writer.end_batch();
  EXPECT_LE(out.size(), kHeadBytes + max_body(kLimit));
  Heard heard;
  EXPECT_TRUE(RecordParser(kFields).replay(body_of(out), heard.host()));
  ASSERT_THAT(heard.lines, SizeIs(2));
  EXPECT_THAT(heard.lines[1], testing::HasSubstr("<too long>="));
}

TEST(Wire, KnowsABatchFromWhatIsNone) {
  std::string out;
  RecordWriter writer(out, kLimit, kFields);
  const girdle_text name = lend("item"), value = lend("R1");
  const girdle_record record{sizeof record, 1, 0, 1, 1, 1, &name, &value};
  writer.record(&record);
  writer.record(&record);
  writer.end_batch();
  const std::string_view good = body_of(out);
  const size_t first = good.size() - (1 + 4 + 4 + 32 + 1 + 4 + 2);
  for (size_t size = 0; size < good.size(); ++size) {
    Heard heard;
    EXPECT_EQ(RecordParser(kFields).replay(good.substr(0, size), heard.host()),
              size == 0 || size == first)
        << size;
  }
  Heard heard;
  EXPECT_FALSE(RecordParser(kFields).replay(good.substr(first), heard.host()))
      << "the names of its layout are not known";
  EXPECT_FALSE(RecordParser(kFields).replay("\x09", heard.host()));
  EXPECT_FALSE(RecordParser(0).replay(good, heard.host())) << "more fields than there may be";
}

TEST(Wire, CutsFramesHoweverTheirBytesCome) {
  std::string out;
  FrameWriter(out, FrameType::kFed).u32(7).u64(8);
  FrameWriter(out, FrameType::kDone).text("abc");
  FrameWriter(out, FrameType::kCreated);
  for (size_t piece = 1; piece <= out.size(); ++piece) {
    Frames frames(100);
    std::vector<std::string> bodies;
    std::vector<FrameType> types;
    for (size_t at = 0; at < out.size(); at += piece) {
      const std::string part = out.substr(at, piece);
      part.copy(frames.room(part.size()), part.size());
      frames.added(part.size());
      while (const auto frame = frames.next()) {
        bodies.emplace_back(frame->body);
        types.push_back(frame->type);
      }
    }
    EXPECT_THAT(types, ElementsAre(FrameType::kFed, FrameType::kDone, FrameType::kCreated));
    EXPECT_THAT(bodies, ElementsAre(std::string("\7\0\0\0\x8\0\0\0\0\0\0\0", 12),
                                    std::string("\3\0\0\0abc", 7), ""));
    EXPECT_TRUE(frames.empty());
  }
}

TEST(Wire, TakesNoFrameThatIsTooLarge) {
  std::string out;
  FrameWriter(out, FrameType::kFed).text("abc");
  Frames frames(6);
  out.copy(frames.room(out.size()), out.size());
  frames.added(kHeadBytes);
  EXPECT_FALSE(frames.next());
  EXPECT_TRUE(frames.broken());
}

TEST(Wire, ReadsNothingButZeroesBehindTheEnd) {
  Parser parser(std::string_view("\1\0\0", 3));
  EXPECT_EQ(parser.u32(), 0u);
  EXPECT_FALSE(parser.good());
  EXPECT_EQ(parser.u8(), 0u);
  EXPECT_EQ(parser.text(), "");
  EXPECT_FALSE(parser.done());
}

}  // namespace
}  // namespace girdle::reading::wire
