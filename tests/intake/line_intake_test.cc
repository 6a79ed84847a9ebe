// What is common to lines, with a line of the test's own: how answers go out.
#include "intake/line_intake.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/socket.h>

#include <cerrno>
#include <deque>

#include "loop.h"

namespace girdle::intake {
namespace {

using namespace std::chrono_literals;
using testing::HasSubstr;

// One end of a pair of sockets; writes end as the test says.
class PairLine final : public Line {
 public:
  std::string_view name() const override { return "pair"; }
  boost::asio::awaitable<base::Result<Descriptor>> open() override {
    ++opened;
    int ends[2] = {-1, -1};
    EXPECT_EQ(::socketpair(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0, ends), 0);
    other = Descriptor(ends[1]);
    co_return Descriptor(ends[0]);
  }
  void feed(std::string_view raw, LineDesk& desk) override { desk.feed(raw); }
  ssize_t write(int, std::string_view bytes) override {
    if (!errors.empty()) {
      errno = errors.front();
      errors.pop_front();
      return -1;
    }
    written += bytes;
    return static_cast<ssize_t>(bytes.size());
  }
  std::string why_at_end(int) override { return "the other end closed"; }
  Backoff backoff() const override { return Backoff(1ms, 1ms, 0); }

  Descriptor other;
  std::deque<int> errors;
  std::string written;
  int opened = 0;
};

// Answers "?" with "!".
class Answerer final : public LineDesk {
 public:
  void feed(std::string_view bytes) override { answer_ = bytes.find('?') == bytes.npos ? "" : "!"; }
  void feed_damaged(char) override {}
  void lost() override {
    answer_.clear();
    ++lost_;
  }
  boost::asio::awaitable<void> hand_over() override { co_return; }
  SteadyTime next_due() const override { return SteadyTime::max(); }
  bool is_full() const override { return false; }
  size_t in_flight() const override { return 0; }
  uint64_t unfinished() const override { return 0; }
  size_t waiting() const override { return 0; }
  std::string_view answer() const override { return answer_; }
  void answered() override { answer_.clear(); }
  void report(Status& status) const override { status.counts.emplace_back("lost", lost_); }

 private:
  std::string answer_;
  uint64_t lost_ = 0;
};

class LineIntakeTest : public testing::Test {
 protected:
  LineIntakeTest() {
    auto owned = std::make_unique<PairLine>();
    line = owned.get();
    intake = std::make_unique<LineIntake>(
        "a", std::move(owned), [](Bell&, Status&) { return std::make_unique<Answerer>(); },
        loop.log, loop.context.get_executor());
    loop.start(*intake);
  }
  ~LineIntakeTest() override { loop.stop(); }
  void ask() {
    ASSERT_TRUE(loop.until([&] { return intake->status().up; }));
    ASSERT_EQ(::send(line->other.get(), "?", 1, 0), 1);
  }

  Loop loop;
  PairLine* line = nullptr;
  std::unique_ptr<LineIntake> intake;
};

TEST_F(LineIntakeTest, SendsWhatTheDeskAnswers) {
  ask();
  ASSERT_TRUE(loop.until([&] { return line->written == "!"; }));
  loop.run_for(20ms);
  EXPECT_EQ(line->written, "!");  // once
}

TEST_F(LineIntakeTest, TriesAgainWhileTheLineTakesNoBytes) {
  line->errors = {EAGAIN, EINTR, EAGAIN};
  ask();
  ASSERT_TRUE(loop.until([&] { return line->written == "!"; }));
  EXPECT_EQ(line->opened, 1);
}

TEST_F(LineIntakeTest, OpensALineAgainThatCannotBeWrittenTo) {
  line->errors = {EPIPE};
  ask();
  ASSERT_TRUE(loop.until([&] { return line->opened == 2; }));
  EXPECT_EQ(line->written, "");  // the answer was for the line before
  EXPECT_EQ(intake->status().counts.at(0).second, 1u);
  EXPECT_THAT(loop.log.text(), HasSubstr("Broken pipe"));
}

TEST_F(LineIntakeTest, TellsAtItsEndWhatItsLineCounted) {
  line->errors = {EPIPE};
  ask();
  ASSERT_TRUE(loop.until([&] { return line->opened == 2; }));
  EXPECT_THAT(loop.log.text(), testing::Not(HasSubstr("lost 1")));
  loop.stop();
  EXPECT_THAT(loop.log.text(), HasSubstr("lost 1"));
}

}  // namespace
}  // namespace girdle::intake
