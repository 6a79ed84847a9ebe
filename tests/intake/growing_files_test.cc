#include "intake/growing_files.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include "intake/folder_intake.h"
#include "loop.h"
#include "temp_folder.h"

namespace girdle::intake {
namespace {

using namespace std::chrono_literals;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::UnorderedElementsAre;

class GrowingFilesTest : public testing::Test {
 protected:
  GrowingFilesTest() {
    settings.name = "counter-1";
    folder_settings.path = folder.path();
    folder_settings.match = "*.log";
    folder_settings.growing = true;
    folder_settings.settle = 50ms;
    folder_settings.scan_every = 1h;
  }
  ~GrowingFilesTest() override { loop.stop(); }

  void make() {
    settings.source = folder_settings;
    intake = std::make_unique<FolderIntake>(settings, std::make_shared<PosixFiles>(), loop.sink,
                                            loop.clock, loop.log, loop.context.get_executor());
  }
  void start() {
    make();
    loop.start(*intake);
    ASSERT_TRUE(loop.until([&] { return intake->status().scans > 0 && loop.sink.in_flight == 0; }));
  }
  void restart() {
    loop.stop();
    start();
  }
  bool comes(std::string_view bytes) {
    return loop.until([&] { return loop.sink.bytes_of() == bytes; });
  }
  // Long against the 20 ms that a write is given to be followed by others.
  void pass() { loop.run_for(120ms); }

  TempFolder folder;
  Loop loop;
  config::Intake settings;
  config::FolderIntake folder_settings;
  std::unique_ptr<FolderIntake> intake;
};

TEST_F(GrowingFilesTest, ReadsOnlyWhatIsNew) {
  folder.write("a.log", "1\n2\n");
  start();
  ASSERT_TRUE(comes("1\n2\n"));
  folder.append("a.log", "3\n");
  ASSERT_TRUE(comes("1\n2\n3\n"));
  ASSERT_EQ(loop.sink.taken.size(), 2u);
  const FakeSink::Taken& second = loop.sink.taken[1];
  EXPECT_EQ(second.document.offset, 4u);
  EXPECT_EQ(second.document.size, 2u);
  EXPECT_EQ(second.document.digest, base::sha256("3\n"));
  EXPECT_EQ(second.resume, "2");  // the reader goes on where it was
  EXPECT_FALSE(second.whole);
  EXPECT_EQ(second.position->offset, 6u);
  EXPECT_EQ(second.position->prefix, base::sha256("1\n2\n3\n"));
  EXPECT_EQ(second.position->resume, "3");
}

TEST_F(GrowingFilesTest, LeavesAHalfWrittenLastLineForLater) {
  start();
  folder.write("a.log", "1\n2");
  ASSERT_TRUE(comes("1\n"));
  folder.append("a.log", "2");
  pass();
  EXPECT_EQ(loop.sink.bytes_of(), "1\n");
  EXPECT_EQ(loop.sink.positions.at("a.log").offset, 2u);
  folder.append("a.log", "2\n");
  EXPECT_TRUE(comes("1\n222\n"));
}

// inotify.coalesce: 1,000 writes unread give one MODIFY. inotify.open: no CLOSE_WRITE while the
// writer stays.
TEST_F(GrowingFilesTest, TakesManyWritesOfAnOpenFileTogether) {
  start();
  std::ofstream file(folder / "a.log");
  std::string expected;
  for (int i = 0; i < 1000; ++i) {
    file << i << "\n" << std::flush;
    expected += std::to_string(i) + "\n";
  }
  ASSERT_TRUE(comes(expected));
  EXPECT_LT(loop.sink.taken.size(), 100u);
}

TEST_F(GrowingFilesTest, GoesOnWhereItWasAfterARestart) {
  folder.write("a.log", "1\n2\nhalf");
  start();
  ASSERT_TRUE(comes("1\n2\n"));
  loop.stop();
  folder.append("a.log", " no more\n");
  start();
  EXPECT_TRUE(comes("1\n2\nhalf no more\n"));
  EXPECT_EQ(loop.sink.taken.back().resume, "2");
  restart();
  pass();
  EXPECT_TRUE(comes("1\n2\nhalf no more\n"));
}

TEST_F(GrowingFilesTest, AShorterFileIsANewGeneration) {
  folder.write("a.log", "1\n2\n3\n");
  start();
  ASSERT_TRUE(comes("1\n2\n3\n"));
  folder.write("a.log", "4\n");
  ASSERT_TRUE(comes("1\n2\n3\n4\n"));
  EXPECT_EQ(loop.sink.taken.back().document.offset, 0u);
  EXPECT_EQ(loop.sink.taken.back().resume, "");
}

TEST_F(GrowingFilesTest, AFileThatWasTruncatedAndHasGrownPastTheOffsetIsANewGeneration) {
  folder.write("a.log", "1\n2\n");
  start();
  ASSERT_TRUE(comes("1\n2\n"));
  folder.write("a.log", "3\n4\n5\n");
  ASSERT_TRUE(comes("1\n2\n3\n4\n5\n"));
  EXPECT_EQ(loop.sink.taken.back().document.offset, 0u);
}

TEST_F(GrowingFilesTest, AFileOfTheSameLengthWithOtherBytesIsANewGeneration) {
  folder.write("a.log", "1\n2\n");
  start();
  ASSERT_TRUE(comes("1\n2\n"));
  folder.write("a.log", "3\n4\n");
  EXPECT_TRUE(comes("1\n2\n3\n4\n"));
}

TEST_F(GrowingFilesTest, AFileThatWasRewrittenWhileNobodyLookedIsANewGeneration) {
  const std::string line(5000, 'x');  // the change is not in the last 4 KiB
  folder.write("a.log", "1\n" + line + "\n");
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.taken.size() == 1; }));
  loop.stop();
  folder.write("a.log", "2\n" + line + "\n3\n");
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.taken.size() == 2; }));
  EXPECT_EQ(loop.sink.taken[1].document.offset, 0u);
  EXPECT_EQ(loop.sink.taken[1].bytes, "2\n" + line + "\n3\n");
}

TEST_F(GrowingFilesTest, AFileThatWasOnlyTouchedMovesItsTimesOnly) {
  folder_settings.scan_every = 50ms;
  folder.write("a.log", "1\n");
  start();
  ASSERT_TRUE(comes("1\n"));
  ASSERT_EQ(::utimensat(AT_FDCWD, (folder / "a.log").c_str(), nullptr, 0), 0);
  ASSERT_TRUE(loop.until([&] { return loop.sink.moved == 1; }));
  EXPECT_EQ(loop.sink.begun, 1);
  EXPECT_EQ(loop.sink.positions.at("a.log").offset, 2u);
}

TEST_F(GrowingFilesTest, ReadsTheRestOfAFileThatIsRotatedAwayBeforeTheNewOne) {
  folder.write("a.log", "1\n");
  start();
  ASSERT_TRUE(comes("1\n"));
  folder.append("a.log", "2\n");
  std::filesystem::rename(folder / "a.log", folder / "a.log.1");  // a name that does not match
  folder.write("a.log", "3\n");
  ASSERT_TRUE(comes("1\n2\n3\n"));
  EXPECT_EQ(loop.sink.taken.back().document.offset, 0u);
  EXPECT_EQ(loop.sink.positions.at("a.log").offset, 2u);
}

TEST_F(GrowingFilesTest, ReadsTheRestOfAFileThatIsDeletedAndMadeAnew) {
  folder.write("a.log", "1\n");
  start();
  ASSERT_TRUE(comes("1\n"));
  folder.append("a.log", "2\n");
  std::filesystem::remove(folder / "a.log");
  folder.write("a.log", "3\n");
  EXPECT_TRUE(comes("1\n2\n3\n"));
}

TEST_F(GrowingFilesTest, TakesTheLastLineOfARotatedFileWithoutItsEndOnceItStandsStill) {
  folder.write("a.log", "1\nhalf");
  start();
  ASSERT_TRUE(comes("1\n"));
  std::filesystem::rename(folder / "a.log", folder / "a.log.1");
  folder.write("a.log", "2\n");
  ASSERT_TRUE(loop.until([&] { return loop.sink.taken.size() == 3; }));
  EXPECT_THAT(loop.sink.lines(), UnorderedElementsAre("1", "half", "2"));
  for (const auto& one : loop.sink.taken) EXPECT_EQ(one.whole, one.bytes == "half");
}

TEST_F(GrowingFilesTest, AWriterMayGoOnInAFileThatLostItsName) {
  std::ofstream writer(folder / "a.log");
  writer << "1\n" << std::flush;
  start();
  ASSERT_TRUE(comes("1\n"));
  std::filesystem::rename(folder / "a.log", folder / "a.log.1");
  pass();
  writer << "2\n" << std::flush;
  ASSERT_TRUE(comes("1\n2\n"));
  folder.write("a.log", "new\n");
  ASSERT_TRUE(comes("1\n2\nnew\n"));
  writer << "3\n" << std::flush;
  EXPECT_TRUE(comes("1\n2\nnew\n3\n"));
}

TEST_F(GrowingFilesTest, AFileThatIsRewrittenUnderAnotherNameAndMovedHereGoesOn) {
  folder.write("a.log", "1\n2\n");
  start();
  ASSERT_TRUE(comes("1\n2\n"));
  folder.put("a.log", "1\n2\n3\n");
  ASSERT_TRUE(comes("1\n2\n3\n"));
  EXPECT_EQ(loop.sink.taken.back().document.offset, 4u);
}

TEST_F(GrowingFilesTest, ReadsALongFileInPiecesAndEachOnlyAfterTheOneBefore) {
  std::string large;
  while (large.size() < (4u << 20)) large += "line " + std::to_string(large.size()) + "\n";
  folder.write("a.log", large);
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.bytes_of().size() == large.size(); }));
  EXPECT_TRUE(loop.sink.bytes_of() == large);
  EXPECT_GE(loop.sink.taken.size(), 4u);
  EXPECT_EQ(loop.sink.most_in_flight, 1);
  EXPECT_EQ(loop.sink.positions.at("a.log").prefix, base::sha256(large));
}

TEST_F(GrowingFilesTest, GoesOnAfterAStopBetweenTwoPieces) {
  std::string large;
  while (large.size() < (4u << 20)) large += "line " + std::to_string(large.size()) + "\n";
  folder.write("a.log", large);
  make();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return !loop.sink.taken.empty(); }));
  loop.stop();
  ASSERT_TRUE(loop.until([&] { return loop.sink.in_flight == 0; }));
  EXPECT_LT(loop.sink.bytes_of().size(), large.size());
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.bytes_of().size() >= large.size(); }));
  EXPECT_TRUE(loop.sink.bytes_of() == large);
}

TEST_F(GrowingFilesTest, ALineLongerThanAnyRecordIsHandedOverAsItIs) {
  settings.max_record_bytes = 1 << 20;
  const std::string endless(5 << 20, 'x');
  folder.write("a.log", "1\n" + endless);
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.bytes_of().size() > (2u << 20); }));
  const auto whole = std::find_if(loop.sink.taken.begin(), loop.sink.taken.end(),
                                  [](auto& one) { return one.whole; });
  ASSERT_NE(whole, loop.sink.taken.end());
  EXPECT_LE(whole->bytes.size(), 2u << 20);
}

TEST_F(GrowingFilesTest, BeginsAgainAtTheLastDurablePlaceAfterAFailedCommit) {
  folder_settings.scan_every = 50ms;
  loop.sink.fails = [](int number) { return number == 2 || number == 3; };
  folder.write("a.log", "1\n");
  start();
  ASSERT_TRUE(comes("1\n"));
  folder.append("a.log", "2\n");
  ASSERT_TRUE(loop.until([&] { return loop.sink.commits >= 2; }));
  folder.append("a.log", "3\n");
  ASSERT_TRUE(comes("1\n2\n3\n"));
  EXPECT_EQ(loop.sink.positions.at("a.log").prefix, base::sha256("1\n2\n3\n"));
}

TEST_F(GrowingFilesTest, ReadsTheRestAgainWhenItsCommitFailed) {
  folder.write("a.log", "1\n");
  start();
  ASSERT_TRUE(comes("1\n"));
  bool has_failed = false;
  loop.sink.fails = [&](int) { return !std::exchange(has_failed, true); };
  folder.append("a.log", "2\n");
  std::filesystem::rename(folder / "a.log", folder / "a.log.1");
  ASSERT_TRUE(loop.until([&] { return loop.sink.bytes_of() == "1\n2\n"; }));
  EXPECT_TRUE(has_failed);
}

TEST_F(GrowingFilesTest, ReadsTheRestWhenTheFolderIsDeleted) {
  folder.write("a.log", "1\n");
  start();
  ASSERT_TRUE(comes("1\n"));
  folder.append("a.log", "2\n");
  std::filesystem::remove_all(folder.path());
  EXPECT_TRUE(comes("1\n2\n"));
}

TEST_F(GrowingFilesTest, ManyFilesGrowAtOnceAlsoMoreThanAreKeptOpen) {
  folder_settings.scan_every = 50ms;
  make();
  loop.start(*intake);
  std::map<std::string, std::string> expected;
  for (int round = 0; round < 3; ++round) {
    for (int i = 0; i < 300; ++i) {
      const std::string name = std::to_string(i) + ".log";
      const std::string line = name + " " + std::to_string(round) + "\n";
      folder.append(name, line);
      expected[name] += line;
    }
    ASSERT_TRUE(loop.until([&] {
      return loop.sink.lines().size() >= expected.size() * (static_cast<size_t>(round) + 1);
    }));
  }
  for (const auto& [name, bytes] : expected) EXPECT_EQ(loop.sink.bytes_of(name), bytes) << name;
}

TEST_F(GrowingFilesTest, ScanOnceReadsUpToTheLastCompleteLineOfEveryFile) {
  std::string large;
  while (large.size() < (3u << 20)) large += "line " + std::to_string(large.size()) + "\n";
  folder.write("a.log", large + "half");
  folder.write("b.log", "1\n");
  make();
  loop.scan_once(*intake);
  EXPECT_TRUE(loop.sink.bytes_of("a.log") == large);
  EXPECT_EQ(loop.sink.bytes_of("b.log"), "1\n");
  const size_t taken = loop.sink.taken.size();
  loop.scan_once(*intake);
  EXPECT_EQ(loop.sink.taken.size(), taken);
}

TEST_F(GrowingFilesTest, SetsAsideWhatIsNoFileAndOnlyOnce) {
  folder_settings.scan_every = 50ms;
  ASSERT_EQ(::mkfifo((folder / "pipe.log").c_str(), 0600), 0);
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.refused.size() == 1; }));
  const uint64_t scans = intake->status().scans;
  ASSERT_TRUE(loop.until([&] { return intake->status().scans >= scans + 3; }));
  EXPECT_EQ(loop.sink.refused.size(), 1u);
}

}  // namespace
}  // namespace girdle::intake
