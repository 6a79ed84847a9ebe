#include "intake/folder_intake.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "faulty_files.h"
#include "loop.h"
#include "temp_folder.h"

// What the kernel tells of each way to write a file is named inotify.* below: measured on ext4
// under Linux 6.18, and described in inotify(7), Debian manpages 6.03-2.

namespace girdle::intake {
namespace {

using namespace std::chrono_literals;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::UnorderedElementsAre;

class FolderIntakeTest : public testing::Test {
 protected:
  FolderIntakeTest() {
    settings.name = "counter-1";
    folder_settings.path = folder.path();
    folder_settings.settle = 50ms;
    // Events alone must do, where a test does not say otherwise: the next scan is far away.
    folder_settings.scan_every = 1h;
  }
  ~FolderIntakeTest() override { loop.stop(); }

  void make() {
    settings.source = folder_settings;
    intake = std::make_unique<FolderIntake>(settings, files, loop.sink, loop.clock, loop.log,
                                            loop.context.get_executor());
  }
  // Runs, and has made its first scan.
  void start() {
    make();
    loop.start(*intake);
    ASSERT_TRUE(loop.until([&] { return intake->status().scans > 0 && loop.sink.in_flight == 0; }));
  }
  // As after a restart: the ledger is what it was.
  void restart() {
    loop.stop();
    start();
  }
  bool comes(std::string_view bytes) {
    return loop.until([&] { return loop.sink.bytes_of() == bytes; });
  }
  std::vector<std::string> names() const {
    std::vector<std::string> out;
    for (const auto& one : loop.sink.taken) out.push_back(one.document.name);
    return out;
  }
  size_t logged(std::string_view text) const {
    const std::string log = loop.log.text();
    size_t count = 0;
    for (size_t at = log.find(text); at != std::string::npos; at = log.find(text, at + 1)) ++count;
    return count;
  }

  TempFolder folder;
  Loop loop;
  config::Intake settings;
  config::FolderIntake folder_settings;
  std::shared_ptr<FaultyFiles> files =
      std::make_shared<FaultyFiles>();  // whole, where a test does not say otherwise
  std::unique_ptr<FolderIntake> intake;
};

TEST_F(FolderIntakeTest, TakesInWhatIsThereAtTheStart) {
  folder.write("a.csv", "1\n");
  folder.write("b.csv", "2\n");
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.taken.size() == 2; }));
  EXPECT_THAT(names(), UnorderedElementsAre("a.csv", "b.csv"));
}

TEST_F(FolderIntakeTest, HandsOverADocumentWithAllThatIsKnownOfIt) {
  folder.put("a.csv", "stone;natural\n");
  timespec times[2] = {{1767225600, 0}, {1767225600, 250'000'000}};  // 2026-01-01T00:00:00.250Z
  ASSERT_EQ(::utimensat(AT_FDCWD, (folder / "a.csv").c_str(), times, 0), 0);
  start();
  ASSERT_TRUE(comes("stone;natural\n"));
  const FakeSink::Taken& taken = loop.sink.taken.at(0);
  EXPECT_EQ(taken.document.intake, "counter-1");
  EXPECT_EQ(taken.document.name, "a.csv");
  EXPECT_EQ(taken.document.digest, base::sha256("stone;natural\n"));
  EXPECT_EQ(taken.document.size, 14u);
  EXPECT_EQ(base::to_millis(taken.document.came_at), 1767225600250);
  EXPECT_TRUE(taken.whole);
  EXPECT_EQ(taken.position->offset, 14u);
  EXPECT_EQ(taken.position->prefix, taken.document.digest);
  EXPECT_EQ(taken.position->mtime_ns, 1767225600250'000'000);
}

// inotify.write: CREATE OPEN MODIFY CLOSE_WRITE.
TEST_F(FolderIntakeTest, TakesAFileWhenItsWriterClosesIt) {
  folder_settings.settle = 1h;
  start();
  folder.write("a.csv", "1\n");
  EXPECT_TRUE(comes("1\n"));
}

// inotify.atomic: CREATE OPEN MODIFY CLOSE_WRITE on the other name, then MOVED_FROM, MOVED_TO.
TEST_F(FolderIntakeTest, TakesAFileThatIsRenamedWithinTheFolder) {
  folder_settings.settle = 1h;
  start();
  folder.write("a.csv.part", "1\n");
  std::filesystem::rename(folder / "a.csv.part", folder / "a.csv");
  EXPECT_TRUE(comes("1\n"));
  EXPECT_THAT(names(), ElementsAre("a.csv"));
}

// inotify.movein: MOVED_TO only.
TEST_F(FolderIntakeTest, TakesAFileThatIsMovedIn) {
  folder_settings.settle = 1h;
  const TempFolder elsewhere;
  start();
  elsewhere.write("a.csv", "1\n");
  std::filesystem::rename(elsewhere / "a.csv", folder / "a.csv");
  EXPECT_TRUE(comes("1\n"));
}

// inotify.hardlink: CREATE only, neither CLOSE_WRITE nor MOVED_TO.
TEST_F(FolderIntakeTest, TakesAHardLinkOnceItStandsStill) {
  const TempFolder elsewhere;
  elsewhere.write("a.csv", "1\n");
  start();
  ASSERT_EQ(::link((elsewhere / "a.csv").c_str(), (folder / "a.csv").c_str()), 0);
  EXPECT_TRUE(comes("1\n"));
}

// inotify.open: a writer that keeps the file open never gives CLOSE_WRITE.
TEST_F(FolderIntakeTest, TakesAFileThatStaysOpenOnceItStandsStill) {
  start();
  std::ofstream file(folder / "a.csv");
  file << "1\n" << std::flush;
  EXPECT_TRUE(comes("1\n"));
}

TEST_F(FolderIntakeTest, DoesNotTakeAFileThatIsStillBeingWritten) {
  folder_settings.settle = 2s;  // far longer than the pauses below, also on a busy machine
  start();
  std::ofstream file(folder / "a.csv");
  for (int i = 0; i < 5; ++i) {
    file << "line\n" << std::flush;
    loop.run_for(20ms);
  }
  EXPECT_EQ(loop.sink.begun, 0);
  file.close();
  EXPECT_TRUE(comes("line\nline\nline\nline\nline\n"));
}

// inotify.twice: two CLOSE_WRITE for one file.
TEST_F(FolderIntakeTest, TakesARewrittenFileAsANewDocument) {
  start();
  folder.write("a.csv", "1\n");
  ASSERT_TRUE(comes("1\n"));
  folder.append("a.csv", "2\n");
  EXPECT_TRUE(comes("1\n1\n2\n"));
  EXPECT_EQ(loop.sink.count("a.csv"), 2u);
}

// inotify.truncate: MODIFY only, which is not listened to; the scan sees it.
TEST_F(FolderIntakeTest, AScanFindsATruncatedFile) {
  folder_settings.scan_every = 50ms;
  folder.write("a.csv", "1\n2\n");
  start();
  ASSERT_TRUE(comes("1\n2\n"));
  ASSERT_EQ(::truncate((folder / "a.csv").c_str(), 2), 0);
  EXPECT_TRUE(comes("1\n2\n1\n"));
}

// inotify.mmap: no event for the store itself. On a disk: in memory such a store leaves the times
// as they were.
TEST_F(FolderIntakeTest, AScanFindsAStoreThroughMmap) {
  const TempFolder disk(TempFolder::Place::kDisk);
  folder_settings.path = disk.path();
  folder_settings.scan_every = 50ms;
  disk.write("a.csv", "1\n2\n");
  start();
  ASSERT_TRUE(comes("1\n2\n"));
  const int file = ::open((disk / "a.csv").c_str(), O_RDWR | O_CLOEXEC);
  void* const memory = ::mmap(nullptr, 4, PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
  ASSERT_NE(memory, MAP_FAILED);
  static_cast<char*>(memory)[0] = '9';
  ASSERT_EQ(::msync(memory, 4, MS_SYNC), 0);
  EXPECT_TRUE(comes("1\n2\n9\n2\n"));
  ::munmap(memory, 4);
  ::close(file);
  loop.stop();
}

// inotify.cpa: CLOSE_WRITE last, but mtime is the old one.
TEST_F(FolderIntakeTest, TakesACopyWithAnOldTime) {
  start();
  folder.write("a.csv", "1\n");
  ASSERT_TRUE(comes("1\n"));
  const auto old = std::filesystem::last_write_time(folder / "a.csv");
  folder.write("a.csv", "2\n");
  std::filesystem::last_write_time(folder / "a.csv", old);
  EXPECT_TRUE(comes("1\n2\n"));
}

// inotify.overflow: the last event is Q_OVERFLOW, with no name.
TEST_F(FolderIntakeTest, ScansAfterTheEventQueueRanOver) {
  start();
  // More events than the queue holds (16,384 here), of names that are no documents, while nobody
  // reads them.
  folder.write(".a", "");
  folder.write(".b", "");
  for (int i = 0; i < 17000; ++i) {
    ::close(::open((folder / (i % 2 == 0 ? ".a" : ".b")).c_str(), O_WRONLY | O_CLOEXEC));
  }
  folder.write("a.csv", "1\n");  // its own event is lost
  EXPECT_TRUE(comes("1\n"));
}

// inotify.inode: the same inode number six times out of six.
TEST_F(FolderIntakeTest, AFileMadeAnewUnderAnOldInodeIsRead) {
  const TempFolder disk(TempFolder::Place::kDisk);
  folder_settings.path = disk.path();
  start();
  std::string expected;
  for (int i = 0; i < 6; ++i) {
    const std::string line = std::to_string(i) + "\n";
    disk.write("a.csv", line);
    expected += line;
    ASSERT_TRUE(comes(expected));
    std::filesystem::remove(disk / "a.csv");
  }
  loop.stop();
}

// inotify.rmdir: DELETE_SELF IGNORED, then silence for the new folder.
TEST_F(FolderIntakeTest, ComesBackWhenTheFolderIsDeletedAndMadeAnew) {
  start();
  std::filesystem::remove_all(folder.path());
  ASSERT_TRUE(loop.until([&] { return !intake->status().up; }));
  EXPECT_THAT(intake->status().trouble, HasSubstr("not there"));
  std::filesystem::create_directory(folder.path());
  folder.write("a.csv", "1\n");
  EXPECT_TRUE(comes("1\n"));
  EXPECT_TRUE(intake->status().up);
  EXPECT_EQ(logged("the folder is not there"), 1u);
  EXPECT_EQ(logged("the folder is back"), 1u);
}

// inotify.mvdir: the watch follows the inode.
TEST_F(FolderIntakeTest, FollowsTheNameWhenTheFolderIsRenamed) {
  start();
  const std::filesystem::path moved = folder.path().string() + "-moved";
  std::filesystem::rename(folder.path(), moved);
  std::filesystem::create_directory(folder.path());
  std::ofstream(moved / "old.csv") << "old\n";
  folder.write("a.csv", "1\n");
  EXPECT_TRUE(comes("1\n"));
  loop.run_for(100ms);
  EXPECT_EQ(loop.sink.bytes_of(), "1\n");
  std::filesystem::remove_all(moved);
}

// inotify.missing: ENOENT.
TEST_F(FolderIntakeTest, WaitsForAFolderThatIsNotThereYet) {
  std::filesystem::remove(folder.path());
  make();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return !intake->status().trouble.empty(); }));
  std::filesystem::create_directory(folder.path());
  folder.write("a.csv", "1\n");
  EXPECT_TRUE(comes("1\n"));
}

TEST_F(FolderIntakeTest, LeavesNamesAloneThatAreNotComplete) {
  folder_settings.match = "*.csv";
  for (const char* name : {".a.csv", "a.csv~", "a.csv.tmp", "a.csv.part", "a.txt"})
    folder.write(name, "no\n");
  folder.write("a.csv", "yes\n");
  start();
  folder.write("b.txt", "no\n");
  folder.write("b.csv", "yes too\n");
  ASSERT_TRUE(loop.until([&] { return loop.sink.taken.size() == 2; }));
  loop.run_for(150ms);
  EXPECT_THAT(loop.sink.bytes_of(), Not(HasSubstr("no")));
  EXPECT_EQ(loop.sink.positions.size(), 2u);
}

TEST_F(FolderIntakeTest, DoesNothingAboutWhatTheLedgerKnows) {
  folder.write("a.csv", "1\n");
  start();
  ASSERT_TRUE(comes("1\n"));
  const int begun = loop.sink.begun;
  restart();
  restart();
  EXPECT_EQ(loop.sink.begun, begun);
  EXPECT_EQ(loop.sink.commits, 1);
}

TEST_F(FolderIntakeTest, ACopyUnderAnotherNameMovesItsPositionOnly) {
  start();
  folder.write("a.csv", "1\n");
  ASSERT_TRUE(comes("1\n"));
  folder.write("b.csv", "1\n");
  ASSERT_TRUE(loop.until([&] { return loop.sink.moved == 1; }));
  EXPECT_EQ(loop.sink.begun, 1);
  EXPECT_EQ(intake->status().known, 1u);
  EXPECT_EQ(loop.sink.positions.at("b.csv").prefix, base::sha256("1\n"));
}

TEST_F(FolderIntakeTest, AnEmptyFileIsHandedOnOnceItStandsStill) {
  start();
  folder.write("a.csv", "");
  ASSERT_TRUE(loop.until([&] { return loop.sink.taken.size() == 1; }));
  EXPECT_EQ(loop.sink.taken[0].bytes, "");
  EXPECT_TRUE(loop.sink.taken[0].whole);
}

TEST_F(FolderIntakeTest, AnEmptyFileThatIsFilledInTimeIsNeverSeenEmpty) {
  folder_settings.settle = 1h;
  start();
  folder.write("a.csv", "");
  loop.run_for(50ms);
  EXPECT_EQ(loop.sink.begun, 0);
  folder.write("a.csv", "1\n");
  EXPECT_TRUE(comes("1\n"));
  EXPECT_EQ(loop.sink.begun, 1);
}

TEST_F(FolderIntakeTest, AFileThatMayNotBeReadIsSaidOnceAndTriedAtEveryScan) {
  folder_settings.scan_every = 20ms;
  files->denied = "a.csv";
  folder.write("a.csv", "1\n");
  start();
  const uint64_t scans = intake->status().scans;
  ASSERT_TRUE(loop.until([&] { return intake->status().scans >= scans + 6; }));
  EXPECT_EQ(logged("cannot read a file"), 1u);
  EXPECT_EQ(loop.sink.commits, 0);  // not set aside: somebody may mend it
  EXPECT_THAT(intake->status().trouble, HasSubstr("cannot be read"));
  files->denied = "";
  EXPECT_TRUE(comes("1\n"));
  EXPECT_EQ(intake->status().trouble, "");
}

TEST_F(FolderIntakeTest, AFileThatIsDeletedWhileItWaitsIsForgottenQuietly) {
  folder_settings.settle = 300ms;
  start();
  uint64_t looks = files->count;
  folder.write("a.csv", "");
  ASSERT_TRUE(loop.until([&] { return files->count > looks; }));
  std::filesystem::remove(folder / "a.csv");
  looks = files->count;
  ASSERT_TRUE(loop.until([&] { return files->count > looks; }));
  loop.run_for(20ms);
  EXPECT_EQ(loop.sink.begun, 0);
  EXPECT_EQ(loop.log.text().find("warning"), std::string::npos);
}

TEST_F(FolderIntakeTest, AFileThatVanishesWhileItIsReadIsGivenUp) {
  folder.put("a.csv", std::string(3 << 20, 'a'));
  int pieces = 0;
  loop.sink.on_feed = [&] {
    if (++pieces == 3) std::ofstream(folder / "a.csv", std::ios::trunc).close();
    if (pieces == 3) std::filesystem::remove(folder / "a.csv");
  };
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.abandoned == 1; }));
  loop.run_for(150ms);
  EXPECT_EQ(loop.sink.commits, 0);
  EXPECT_EQ(loop.sink.begun, 1);
}

TEST_F(FolderIntakeTest, SetsAsideWhatIsNoFileAndOnlyOnce) {
  folder_settings.scan_every = 50ms;
  const TempFolder elsewhere;
  elsewhere.write("target", "out of the folder\n");
  ASSERT_EQ(::mkfifo((folder / "pipe").c_str(), 0600), 0);
  std::filesystem::create_directory(folder / "sub");
  std::filesystem::create_symlink(elsewhere / "target", folder / "link");
  const int socket = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_un address = {};
  address.sun_family = AF_UNIX;
  const std::string path = folder / "socket";
  if (path.size() < sizeof address.sun_path) path.copy(address.sun_path, path.size());
  ASSERT_EQ(::bind(socket, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.refused.size() == 4; }));
  folder.write("sub/inside.csv", "1\n");  // changes the times of the folder within
  const uint64_t scans = intake->status().scans;
  ASSERT_TRUE(loop.until([&] { return intake->status().scans >= scans + 3; }));
  EXPECT_EQ(loop.sink.refused.size(), 4u);
  EXPECT_EQ(loop.sink.begun, 0);
  std::map<std::string, std::string> reasons;
  std::set<base::Digest> digests;
  for (const auto& one : loop.sink.refused) {
    reasons[one.document.name] = one.aside.reason;
    digests.insert(one.document.digest);
  }
  EXPECT_EQ(digests.size(), 4u);
  EXPECT_THAT(reasons["pipe"], HasSubstr("named pipe"));
  EXPECT_THAT(reasons["sub"], HasSubstr("folder"));
  EXPECT_THAT(reasons["link"], HasSubstr("symbolic link"));
  EXPECT_THAT(reasons["socket"], HasSubstr("socket"));
  ::close(socket);
}

TEST_F(FolderIntakeTest, AFileThatTakesThePlaceOfALinkIsRead) {
  std::filesystem::create_symlink("nowhere", folder / "a.csv");
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.refused.size() == 1; }));
  std::filesystem::remove(folder / "a.csv");
  folder.write("a.csv", "1\n");
  EXPECT_TRUE(comes("1\n"));
}

TEST_F(FolderIntakeTest, SetsAsideAFileAboveTheLimitUnreadAndOnlyOnce) {
  folder_settings.max_bytes = 10;
  folder.write("a.csv", "more than ten bytes\n");
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.refused.size() == 1; }));
  EXPECT_THAT(loop.sink.refused[0].aside.reason, HasSubstr("20 bytes"));
  EXPECT_THAT(loop.sink.refused[0].aside.reason, HasSubstr("max_bytes is 10"));
  EXPECT_EQ(loop.sink.refused[0].aside.bytes, "");
  EXPECT_TRUE(loop.sink.refused[0].aside.truncated);
  restart();
  EXPECT_EQ(loop.sink.refused.size(), 1u);
  folder.write("a.csv", "short\n");
  EXPECT_TRUE(comes("short\n"));
}

TEST_F(FolderIntakeTest, ReadsALargeFileInPieces) {
  std::string large;
  while (large.size() < (5u << 20)) large += "line " + std::to_string(large.size()) + "\n";
  folder.put("a.csv", large);
  int pieces = 0;
  loop.sink.on_feed = [&] { ++pieces; };
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.taken.size() == 1; }));
  EXPECT_TRUE(loop.sink.bytes_of() == large);
  EXPECT_EQ(loop.sink.taken[0].document.digest, base::sha256(large));
  EXPECT_GE(pieces, 20);
  // The same bytes under another name are hashed, and not read.
  folder.put("b.csv", large);
  ASSERT_TRUE(loop.until([&] { return loop.sink.moved == 1; }));
  EXPECT_EQ(loop.sink.begun, 1);
}

TEST_F(FolderIntakeTest, GivesUpALargeFileThatChangesWhileItIsReadAndTakesItLater) {
  const std::string before(3 << 20, 'a'), after(3 << 20, 'b');
  folder.put("a.csv", before);
  int pieces = 0;
  loop.sink.on_feed = [&] {
    if (++pieces == 3) {
      std::fstream file(folder / "a.csv", std::ios::in | std::ios::out | std::ios::binary);
      file.write(after.data(), static_cast<std::streamsize>(after.size()));
    }
  };
  start();
  ASSERT_TRUE(loop.until([&] { return loop.sink.taken.size() == 1; }));
  EXPECT_EQ(loop.sink.abandoned, 1);
  EXPECT_TRUE(loop.sink.bytes_of() == after);
  EXPECT_EQ(intake->status().abandoned, 1u);
}

TEST_F(FolderIntakeTest, OffersAFileAgainAfterAFailedCommit) {
  folder_settings.scan_every = 50ms;
  folder.write("a.csv", "1\n");
  loop.sink.fails = [](int number) { return number <= 2; };
  start();
  EXPECT_TRUE(comes("1\n"));
  EXPECT_EQ(loop.sink.commits, 3);
  EXPECT_EQ(intake->status().failed, 2u);
}

TEST_F(FolderIntakeTest, TakesFilesOneAfterAnotherWithoutWaitingForTheirCommits) {
  loop.sink.holds_back = true;
  for (int i = 0; i < 300; ++i) folder.write(std::to_string(i) + ".csv", std::to_string(i) + "\n");
  make();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return loop.sink.in_flight == 300; }));
  // A file in flight is not taken twice, and what happens to it meanwhile is not forgotten.
  folder.write("7.csv", "7 again\n");
  loop.run_for(100ms);
  EXPECT_EQ(loop.sink.in_flight, 300);
  loop.sink.holds_back = false;
  loop.sink.release();
  ASSERT_TRUE(loop.until([&] { return loop.sink.taken.size() == 301; }));
  EXPECT_EQ(loop.sink.count("7.csv"), 2u);
}

TEST_F(FolderIntakeTest, KeepsABoundedNumberOfFilesInFlight) {
  loop.sink.holds_back = true;
  for (int i = 0; i < 4200; ++i) folder.write(std::to_string(i) + ".csv", std::to_string(i) + "\n");
  make();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return loop.sink.in_flight == 4096; }));
  loop.run_for(50ms);
  EXPECT_EQ(loop.sink.in_flight, 4096);
  loop.sink.holds_back = false;
  loop.sink.release();
  EXPECT_TRUE(loop.until([&] { return loop.sink.taken.size() == 4200; }));
}

TEST_F(FolderIntakeTest, SaysOnceThatAFolderIsPolledWhereItsFileSystemTellsNothing) {
  folder_settings.path = "/proc/self/task";  // a file system that is not known to be local
  folder_settings.match = "no such name";
  folder_settings.scan_every = 20ms;
  make();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return intake->status().scans >= 3; }));
  EXPECT_EQ(logged("the folder is polled, not watched"), 1u);
  EXPECT_THAT(intake->status().trouble, HasSubstr("does not tell of writes"));
}

TEST_F(FolderIntakeTest, ScanOnceTakesInAllThatIsThereAndReturns) {
  for (int i = 0; i < 20; ++i) folder.write(std::to_string(i) + ".csv", std::to_string(i) + "\n");
  folder.write("empty.csv", "");
  folder_settings.settle = 1h;  // fresh files count as ready
  make();
  loop.scan_once(*intake);
  EXPECT_EQ(loop.sink.taken.size(), 21u);
  loop.scan_once(*intake);
  EXPECT_EQ(loop.sink.begun, 21);
}

TEST_F(FolderIntakeTest, ScanOnceOfAFolderThatIsNotThereEndsWithTrouble) {
  folder_settings.path = folder / "missing";
  make();
  loop.scan_once(*intake);
  EXPECT_FALSE(intake->status().up);
  EXPECT_THAT(intake->status().trouble, HasSubstr("not there"));
}

TEST_F(FolderIntakeTest, DoesNotWakeUpWhileNothingHappens) {
  folder.write("a.csv", "1\n");
  start();
  ASSERT_TRUE(comes("1\n"));
  const auto woken_within = [&](std::chrono::milliseconds time) {
    const auto end = std::chrono::steady_clock::now() + time;
    size_t woken = 0;
    while (std::chrono::steady_clock::now() < end) woken += loop.context.run_one_for(10ms);
    return woken;
  };
  // First what is left of the document: a file as fresh as this one is looked at again.
  for (int i = 0; i < 50 && woken_within(100ms) > 0; ++i) {
  }
  EXPECT_EQ(woken_within(400ms), 0u);
}

TEST_F(FolderIntakeTest, StopsAtOnce) {
  // The best of a few: a busy machine may stand still for longer than a stop takes.
  auto best = std::chrono::steady_clock::duration::max();
  for (int i = 0; i < 5; ++i) {
    start();
    const auto began = std::chrono::steady_clock::now();
    loop.stop();
    best = std::min(best, std::chrono::steady_clock::now() - began);
  }
  EXPECT_LT(best, 100ms);
}

TEST_F(FolderIntakeTest, AbandonsTheDocumentThatItIsStoppedIn) {
  folder.put("a.csv", std::string(3 << 20, 'a'));
  make();
  loop.start(*intake);
  int pieces = 0;
  loop.sink.on_feed = [&] { ++pieces; };
  ASSERT_TRUE(loop.until([&] { return pieces >= 2; }));
  loop.stop();
  EXPECT_EQ(loop.sink.abandoned, 1);
  EXPECT_TRUE(loop.sink.taken.empty());
}

TEST_F(FolderIntakeTest, MovesWhatWasTakenInToTheDoneFolder) {
  folder_settings.move_done = true;
  start();
  folder.write("a.csv", "1\n");
  ASSERT_TRUE(loop.until([&] { return folder.has("done/a.csv"); }));
  EXPECT_FALSE(folder.has("a.csv"));
  // A later file of the name does not replace the first, nor does a copy of it.
  folder.write("a.csv", "2\n");
  ASSERT_TRUE(loop.until([&] { return folder.has("done/a-2.csv"); }));
  folder.write("a.csv", "2\n");
  ASSERT_TRUE(loop.until([&] { return folder.has("done/a-3.csv"); }));
  EXPECT_EQ(folder.read("done/a.csv"), "1\n");
  EXPECT_EQ(folder.read("done/a-2.csv"), "2\n");
  EXPECT_EQ(loop.sink.bytes_of(), "1\n2\n");
  EXPECT_THAT(loop.sink.refused, IsEmpty());  // the folder itself is not news
}

TEST_F(FolderIntakeTest, MovesNothingBeforeItsCommitIsDurable) {
  folder_settings.move_done = true;
  loop.sink.holds_back = true;
  folder.write("a.csv", "1\n");
  make();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return loop.sink.in_flight == 1; }));
  loop.run_for(50ms);
  EXPECT_TRUE(folder.has("a.csv"));
  loop.sink.release();
  EXPECT_TRUE(folder.has("done/a.csv"));
}

TEST_F(FolderIntakeTest, MovesAtTheNextScanWhatWasTakenInBeforeACrash) {
  folder.write("a.csv", "1\n");
  start();
  ASSERT_TRUE(comes("1\n"));
  folder_settings.move_done = true;
  restart();
  EXPECT_TRUE(loop.until([&] { return folder.has("done/a.csv"); }));
  EXPECT_EQ(loop.sink.begun, 1);
}

TEST_F(FolderIntakeTest, AFileThatIsRewrittenBeforeItIsMovedStaysAndIsRead) {
  folder_settings.move_done = true;
  loop.sink.holds_back = true;
  folder.write("a.csv", "1\n");
  make();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return loop.sink.in_flight == 1; }));
  folder.put("a.csv", "2\n");
  loop.sink.holds_back = false;
  loop.sink.release();
  ASSERT_TRUE(comes("1\n2\n"));
  EXPECT_TRUE(loop.until([&] { return folder.has("done/a.csv"); }));
  EXPECT_EQ(folder.read("done/a.csv"), "2\n");
}

TEST_F(FolderIntakeTest, SaysOnceThatItCannotMoveAndLeavesTheFile) {
  folder_settings.move_done = true;
  folder_settings.scan_every = 50ms;
  folder.write("done", "a file in the way\n");
  folder_settings.match = "*.csv";
  folder.write("a.csv", "1\n");
  start();
  const uint64_t scans = intake->status().scans;
  ASSERT_TRUE(loop.until([&] { return intake->status().scans >= scans + 3; }));
  EXPECT_TRUE(folder.has("a.csv"));
  EXPECT_EQ(logged("cannot move"), 1u);
  EXPECT_EQ(loop.sink.begun, 1);
}

}  // namespace
}  // namespace girdle::intake
