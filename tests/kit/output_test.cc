#include <girdle/kit/output.h>
#include <girdle/kit/setup.h>
#include <gmock/gmock.h>

#include <string>
#include <vector>

namespace girdle::kit {
namespace {

using testing::ElementsAre;
using testing::Pair;

struct Heard {
  std::vector<std::pair<uint64_t, uint64_t>> asides;  // offset, length
  std::string reason;                                 // of the last
  int records = 0;
  girdle_status answer = GIRDLE_OK;
};

girdle_reader_host host_of(Heard& heard) {
  girdle_reader_host host{};
  host.size = sizeof host;
  host.context = &heard;
  host.emit = [](const girdle_reader_host* h, const girdle_record*) {
    auto& own = *static_cast<Heard*>(h->context);
    ++own.records;
    return own.answer;
  };
  host.aside = [](const girdle_reader_host* h, const girdle_aside* aside) {
    auto& own = *static_cast<Heard*>(h->context);
    own.asides.emplace_back(aside->offset, aside->length);
    own.reason = view(aside->reason);
    return own.answer;
  };
  return host;
}

// The contract in girdle/reader.h: "each but the last max_record_bytes long".
TEST(Output, TellsALongStretchInPieces) {
  Heard heard;
  const girdle_reader_host host = host_of(heard);
  Output out(host, 64);
  out.aside(10, 150, 1, "too long");
  out.aside(200, 64, 2, "just so long");
  out.aside(300, 0, 3, "missing");
  EXPECT_THAT(heard.asides,
              ElementsAre(Pair(10, 64), Pair(74, 64), Pair(138, 22), Pair(200, 64), Pair(300, 0)));
  EXPECT_EQ(out.status(), GIRDLE_OK);
}

// The contract in girdle/reader.h: a reason is one line, UTF-8.
TEST(Output, MakesAReasonOneLine) {
  Heard heard;
  const girdle_reader_host host = host_of(heard);
  Output out(host, 64);
  out.aside(0, 1, 1, "no such column: \"caf\xC3\xA9\"");
  EXPECT_EQ(heard.reason, "no such column: \"caf\xC3\xA9\"");
  out.aside(1, 1, 1, "no such column: \"a\nb\xE9\"");
  EXPECT_EQ(heard.reason, R"(no such column: "a\x0ab\xe9")");
  out.aside(2, 150, 1, std::string(10'000, 'x'));
  EXPECT_EQ(heard.reason, std::string(kMostReason, 'x') + "…");
  EXPECT_EQ(heard.asides.size(), 5u);
}

TEST(Output, IsSilentAfterAStop) {
  Heard heard;
  heard.answer = 77;  // anything but GIRDLE_OK is one
  const girdle_reader_host host = host_of(heard);
  Output out(host, 64);
  out.aside(0, 150, 1, "too long");
  out.emit({});
  out.aside(200, 1, 1, "more");
  EXPECT_EQ(heard.asides.size(), 1u);
  EXPECT_EQ(heard.records, 0);
  EXPECT_TRUE(out.stopped());
  EXPECT_EQ(out.status(), GIRDLE_STOP);
}

TEST(Setup, GivesOptionsAndRefusesLimits) {
  const girdle_option options[] = {{lend("delimiter"), lend(";")}, {lend("empty"), {nullptr, 0}}};
  girdle_reader_setup setup{sizeof setup, 0, 64, 1, 2, options, {}};
  EXPECT_EQ(option(setup, "delimiter"), ";");
  EXPECT_EQ(option(setup, "empty"), "");
  EXPECT_EQ(option(setup, "delimite"), "");
  EXPECT_EQ(wrong_limits(setup), "");
  setup.max_fields = 0;
  EXPECT_NE(wrong_limits(setup), "");
  setup.max_fields = 1;
  setup.max_record_bytes = 63;
  EXPECT_NE(wrong_limits(setup), "");
}

}  // namespace
}  // namespace girdle::kit
