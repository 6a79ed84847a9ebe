// The lives of an isolated reader's process, by a clock that the test moves.
#include <gmock/gmock.h>

#include <filesystem>

#include "reading/odd.h"

namespace girdle::reading {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;
using testing::HasSubstr;
using testing::SizeIs;

class RestartTest : public testing::Test {
 protected:
  RestartTest() {
    isolation_ = test_isolation();
    isolation_.now = [this] { return now_; };
    std::string name = testing::TempDir() + "girdle-restart-XXXXXX";
    folder_ = mkdtemp(name.data());
  }
  ~RestartTest() override { std::filesystem::remove_all(folder_); }

  // Goes on with the call until it is answered, or waits for a time that has not come.
  std::optional<Wait> go_on(DocumentReading& document) {
    while (const auto wait = document.step()) {
      if (wait->descriptor < 0 && wait->until > now_) return wait;
      block(*wait);
    }
    return std::nullopt;
  }

  // How long the document waits before its reader is started; it is read then.
  milliseconds pause_before(const std::string& bytes, std::string& fault) {
    auto document = reader_->begin();
    model::Records records;
    document->start_all(bytes, true, records);
    const auto wait = go_on(*document);
    const auto pause = wait ? wait->until - now_ : SteadyTime::duration{};
    now_ += pause;
    EXPECT_FALSE(go_on(*document));
    fault = document->fault();
    return std::chrono::duration_cast<milliseconds>(pause);
  }

  SteadyTime now_ = std::chrono::steady_clock::now();
  Isolation isolation_;
  std::shared_ptr<Reader> reader_;
  std::filesystem::path folder_;
};

TEST_F(RestartTest, LeavesLongerAndLongerPausesWhileDocumentAfterDocumentFails) {
  reader_ = *open_odd("feed@BAD:abort", isolation_);
  std::string fault;
  for (const int expected : {0, 0, 100, 200, 400, 800, 1600, 2000, 2000}) {
    EXPECT_EQ(pause_before("BAD\n", fault), milliseconds(expected));
    EXPECT_THAT(fault, HasSubstr("(SIGABRT)"));
  }
  EXPECT_EQ(pause_before("R1\n", fault), milliseconds(2000));
  EXPECT_EQ(fault, "");
  for (const int expected : {0, 0, 100}) {
    EXPECT_EQ(pause_before("BAD\n", fault), milliseconds(expected));
  }
}

// The pause is of time: whoever comes later waits less.
TEST_F(RestartTest, CountsThePauseFromTheFailure) {
  reader_ = *open_odd("feed@BAD:abort", isolation_);
  std::string fault;
  for (int i = 0; i < 6; ++i) pause_before("BAD\n", fault);
  now_ += milliseconds(1500);
  EXPECT_EQ(pause_before("R1\n", fault), milliseconds(100));
}

TEST_F(RestartTest, GivesADocumentItsTimeAndASecondMoreForEachMiB) {
  for (const auto& [mebibytes, time] : {std::pair(0, 20), {3, 23}}) {
    reader_ = *open_odd("feed@BAD:hang", isolation_);
    auto document = reader_->begin();
    model::Records records;
    const std::string bytes = "BAD\n" + std::string(static_cast<size_t>(mebibytes) << 20, 'x');
    document->start_all(bytes, true, records);
    std::optional<Wait> wait = document->step();
    // Until all of it was sent, and the reader is at it.
    for (int quiet = 0; quiet < 3;) {
      ASSERT_TRUE(wait);
      Wait a_little = *wait;
      a_little.until = std::chrono::steady_clock::now() + milliseconds(20);
      block(a_little);
      quiet = wait->until - now_ >= seconds(time) && !wait->to_write ? quiet + 1 : 0;
      wait = document->step();
    }
    now_ += seconds(time) - milliseconds(1);
    EXPECT_TRUE(document->step());
    now_ += milliseconds(1);
    EXPECT_FALSE(go_on(*document));
    EXPECT_THAT(document->fault(), HasSubstr("did not answer in time (20 s, and 1 s a MiB)"));
  }
}

TEST_F(RestartTest, LetsADocumentWaitWhileTheReaderCannotBeStarted) {
  const std::filesystem::path program = folder_ / "girdled-reader-host";
  std::filesystem::create_symlink(GIRDLE_READER_HOST, program);
  isolation_.host = program;
  reader_ = *open_odd("", isolation_);
  std::filesystem::remove(program);

  auto document = reader_->begin();
  model::Records records;
  document->start_all("R1\n", true, records);
  for (const int expected : {100, 200, 400, 800, 1600, 2000, 2000}) {
    const auto wait = go_on(*document);
    ASSERT_TRUE(wait);
    EXPECT_EQ(wait->until - now_, milliseconds(expected));
    EXPECT_THAT(document->trouble(), HasSubstr("cannot start " + program.string()));
    now_ = wait->until;
  }
  std::filesystem::create_symlink(GIRDLE_READER_HOST, program);
  EXPECT_FALSE(go_on(*document));
  EXPECT_EQ(document->trouble(), "");
  EXPECT_EQ(document->fault(), "");
  EXPECT_THAT(records.declarations, SizeIs(1));
}

// An update that was half done: no document is lost to it.
TEST_F(RestartTest, LetsADocumentWaitWhileTheLibraryIsOfAnotherAbi) {
  const std::filesystem::path readers = GIRDLE_TEST_READERS;
  const auto install = [&](const char* library) {
    std::filesystem::copy_file(readers / library, folder_ / "new");
    std::filesystem::rename(folder_ / "new", folder_ / "odd.so");
  };
  std::filesystem::copy_file(readers / "odd.reader.yaml", folder_ / "odd.reader.yaml");
  install("odd.so");
  reader_ = *open_odd("feed@BAD:abort", isolation_, "odd", folder_);
  std::string fault;
  pause_before("BAD\n", fault);
  install("newer.so");

  auto document = reader_->begin();
  model::Records records;
  document->start_all("R1\n", true, records);
  EXPECT_TRUE(go_on(*document));
  EXPECT_THAT(document->trouble(), HasSubstr("does not speak version 1 of the reader ABI"));
  install("odd.so");
  now_ += seconds(2);
  EXPECT_FALSE(go_on(*document));
  EXPECT_EQ(document->fault(), "");
  EXPECT_THAT(records.declarations, SizeIs(1));
}

TEST_F(RestartTest, TellsAtOnceThatTheReaderCannotBeStartedToWhoeverBlocks) {
  const std::filesystem::path program = folder_ / "girdled-reader-host";
  std::filesystem::create_symlink(GIRDLE_READER_HOST, program);
  isolation_.host = program;
  reader_ = *open_odd("", isolation_);
  std::filesystem::remove(program);
  const Read result = read(*reader_, {"R1\n"});
  EXPECT_THAT(result.fault, HasSubstr("cannot start " + program.string()));
  EXPECT_EQ(bytes_of(result.records.asides), "R1\n");
}

}  // namespace
}  // namespace girdle::reading
