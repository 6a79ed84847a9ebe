#include "delivery/file_drop.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <filesystem>

#include "delivery/hooked_drop_files.h"
#include "intake/temp_folder.h"

namespace girdle::delivery {
namespace {

using intake::TempFolder;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using Op = HookedDropFiles::Op;

constexpr const char* kOwner = "quay-street inventory";
const std::string kBytes = "R1042;refer\n" + std::string(5000, 'x') + "\nR1043;release\n";

class FileDropTest : public testing::Test {
 protected:
  FileDrop new_drop(std::string_view owner = kOwner) {
    return {files_, folder_.path().string(), owner};
  }

  base::Result<std::string> drop(FileDrop& drop, const std::string& stem = "q1-42-3",
                                 std::string_view bytes = kBytes) {
    return drop.drop({stem, ".csv"}, bytes, given_up_);
  }

  std::vector<std::string> names() const {
    std::vector<std::string> found;
    for (const auto& entry : std::filesystem::directory_iterator(folder_.path())) {
      found.push_back(entry.path().filename());
    }
    std::sort(found.begin(), found.end());
    return found;
  }

  // Every operation of this kind fails so.
  void fail(Op op, int error) {
    files_->before = [op, error](Op at) { return at == op ? error : 0; };
  }

  std::string failure_of(Op op, int error) {
    fail(op, error);
    FileDrop one = new_drop();
    const auto dropped = drop(one);
    files_->before = [](Op) { return 0; };
    return dropped ? "taken as " + *dropped : dropped.error().text;
  }

  TempFolder folder_;
  std::shared_ptr<HookedDropFiles> files_ = std::make_shared<HookedDropFiles>();
  std::atomic<bool> given_up_ = false;
};

TEST_F(FileDropTest, PutsAWholeFileUnderItsName) {
  FileDrop one = new_drop();
  const auto dropped = drop(one);
  ASSERT_TRUE(dropped) << dropped.error().text;
  EXPECT_EQ(*dropped, "q1-42-3.csv");
  EXPECT_THAT(names(), ElementsAre("q1-42-3.csv"));
  EXPECT_EQ(folder_.read("q1-42-3.csv"), kBytes);
}

TEST_F(FileDropTest, ShowsNothingUnderTheNameBeforeAllOfItIsOnTheDisk) {
  bool synced = false;
  files_->most_written = 1000;
  files_->before = [&](Op op) {
    if (op == Op::kSyncFile) synced = true;
    EXPECT_TRUE(synced || op != Op::kRename);
    if (op == Op::kWrite || op == Op::kSyncFile || op == Op::kRename) {
      EXPECT_FALSE(folder_.has("q1-42-3.csv"));
    }
    // Whoever takes all files of the folder but hidden ones sees none.
    for (const std::string& name : names()) {
      EXPECT_TRUE(op == Op::kSyncFolder ||
                  (name.starts_with(".girdled-") && name.ends_with(".part")));
    }
    return 0;
  };
  FileDrop one = new_drop();
  EXPECT_TRUE(drop(one));
  EXPECT_TRUE(synced);
  EXPECT_EQ(folder_.read("q1-42-3.csv"), kBytes);
}

TEST_F(FileDropTest, BringsTheFileAndTheFolderToTheDisk) {
  std::vector<Op> seen;
  files_->before = [&](Op op) {
    seen.push_back(op);
    return 0;
  };
  FileDrop one = new_drop();
  EXPECT_TRUE(drop(one));
  EXPECT_THAT(seen, ElementsAre(Op::kOpenFolder, Op::kList, Op::kCreate, Op::kWrite, Op::kSyncFile,
                                Op::kRename, Op::kSyncFolder));
}

TEST_F(FileDropTest, TakesAFileWithTheSameBytesAsDone) {
  FileDrop one = new_drop();
  ASSERT_TRUE(drop(one));
  FileDrop after_a_crash = new_drop();
  const auto again = drop(after_a_crash);
  ASSERT_TRUE(again);
  EXPECT_EQ(*again, "q1-42-3.csv");
  EXPECT_THAT(names(), ElementsAre("q1-42-3.csv"));
}

// The attempt that wrote it may have failed at just that.
TEST_F(FileDropTest, BringsAFileToTheDiskBeforeItIsTakenAsDone) {
  FileDrop one = new_drop();
  ASSERT_TRUE(drop(one));
  int synced_files = 0, synced_folders = 0;
  files_->before = [&](Op op) {
    synced_files += op == Op::kSyncFile ? 1 : 0;
    synced_folders += op == Op::kSyncFolder ? 1 : 0;
    return 0;
  };
  ASSERT_TRUE(drop(one));
  EXPECT_EQ(synced_files, 2);  // the new one, and the one that was there
  EXPECT_EQ(synced_folders, 1);
}

TEST_F(FileDropTest, NeverReplacesAFileWithOtherBytes) {
  folder_.write("q1-42-3.csv", "another");
  folder_.write("q1-42-3-2.csv", std::string(kBytes.size(), 'y'));
  FileDrop one = new_drop();
  const auto dropped = drop(one);
  ASSERT_TRUE(dropped);
  EXPECT_EQ(*dropped, "q1-42-3-3.csv");
  EXPECT_EQ(folder_.read("q1-42-3.csv"), "another");
  EXPECT_EQ(folder_.read("q1-42-3-2.csv"), std::string(kBytes.size(), 'y'));
  EXPECT_EQ(folder_.read("q1-42-3-3.csv"), kBytes);
  const auto again = drop(one);  // found under the number that it got
  ASSERT_TRUE(again);
  EXPECT_EQ(*again, "q1-42-3-3.csv");
  EXPECT_EQ(names().size(), 3u);
}

TEST_F(FileDropTest, GivesAThousandFilesOfOneNameAThousandNames) {
  FileDrop one = new_drop();
  for (int i = 0; i < 1000; ++i) {
    const auto dropped = drop(one, "q1-42-3", std::to_string(i));
    ASSERT_TRUE(dropped);
    ASSERT_EQ(*dropped, FileName({"q1-42-3", ".csv"}).numbered(static_cast<unsigned>(i + 1)));
  }
  EXPECT_EQ(names().size(), 1000u);
  EXPECT_EQ(folder_.read("q1-42-3.csv"), "0");
  EXPECT_EQ(folder_.read("q1-42-3-1000.csv"), "999");
}

TEST_F(FileDropTest, LeavesWhateverHasTheNameAlone) {
  folder_.write("secret", kBytes);
  std::filesystem::create_directory(folder_ / "q1-42-3.csv");
  std::filesystem::create_symlink(folder_ / "secret", folder_ / "q1-42-3-2.csv");
  std::filesystem::create_symlink(folder_ / "nowhere", folder_ / "q1-42-3-3.csv");
  ASSERT_EQ(::mkfifo((folder_ / "q1-42-3-4.csv").c_str(), 0600), 0);
  FileDrop one = new_drop();
  const auto dropped = drop(one);
  ASSERT_TRUE(dropped) << dropped.error().text;
  EXPECT_EQ(*dropped, "q1-42-3-5.csv");
  EXPECT_FALSE(folder_.has("nowhere"));
  EXPECT_TRUE(std::filesystem::is_directory(folder_ / "q1-42-3.csv"));
  EXPECT_TRUE(std::filesystem::is_symlink(folder_ / "q1-42-3-2.csv"));
}

TEST_F(FileDropTest, MakesNoFolder) {
  FileDrop one(files_, (folder_.path() / "share" / "in").string(), kOwner);
  const auto dropped = drop(one);
  ASSERT_FALSE(dropped);
  EXPECT_EQ(dropped.error().fault, base::Fault::kEnvironment);
  EXPECT_THAT(dropped.error().text,
              HasSubstr((folder_.path() / "share" / "in").string() + " is not there"));
  EXPECT_THAT(dropped.error().text, HasSubstr("mount it, or make it"));
  EXPECT_THAT(names(), IsEmpty());
}

TEST_F(FileDropTest, SaysThatAFileStandsInThePlaceOfTheFolder) {
  folder_.write("in", "");
  FileDrop one(files_, (folder_.path() / "in").string(), kOwner);
  const auto dropped = drop(one);
  ASSERT_FALSE(dropped);
  EXPECT_THAT(dropped.error().text, HasSubstr("in is no folder"));
}

TEST_F(FileDropTest, NoticesAFolderThatGoesWhileItWrites) {
  for (const Op op : {Op::kCreate, Op::kRename}) {
    files_->before = [&](Op at) {
      if (at == op) std::filesystem::remove_all(folder_.path());
      return 0;
    };
    FileDrop one = new_drop();
    const auto dropped = drop(one);
    EXPECT_FALSE(dropped);
    EXPECT_FALSE(std::filesystem::exists(folder_.path()));
    std::filesystem::create_directory(folder_.path());
  }
}

TEST_F(FileDropTest, TellsAPersonWhatIsWrongAndWhatWouldBeRight) {
  const std::string folder = folder_.path().string();
  EXPECT_EQ(failure_of(Op::kWrite, ENOSPC),
            "the folder " + folder + " has no space left: make room on its disk");
  EXPECT_THAT(failure_of(Op::kSyncFile, EDQUOT), HasSubstr("raise the quota"));
  EXPECT_THAT(failure_of(Op::kCreate, EACCES), HasSubstr("its user needs the rights"));
  EXPECT_THAT(failure_of(Op::kCreate, EROFS), HasSubstr("is read-only: mount it so that"));
  EXPECT_THAT(failure_of(Op::kSyncFile, EIO),
              HasSubstr("cannot take q1-42-3.csv: girdled cannot bring the file to the disk: "
                        "Input/output error"));
  EXPECT_THAT(failure_of(Op::kRename, EIO), HasSubstr("cannot rename the file"));
  EXPECT_THAT(failure_of(Op::kRename, ENOENT), HasSubstr("lost the unfinished file .girdled-"));
  EXPECT_THAT(failure_of(Op::kOpenFolder, ESTALE), HasSubstr("cannot open the folder"));
  EXPECT_THAT(failure_of(Op::kOpenFolder, ELOOP), HasSubstr("lead in a circle"));
  EXPECT_THAT(names(), IsEmpty());
}

TEST_F(FileDropTest, GoesOnAfterAShortOrInterruptedWrite) {
  int interrupted = 0;
  files_->most_written = 7;
  files_->before = [&](Op op) { return op == Op::kWrite && ++interrupted % 2 == 1 ? EINTR : 0; };
  FileDrop one = new_drop();
  ASSERT_TRUE(drop(one));
  EXPECT_EQ(folder_.read("q1-42-3.csv"), kBytes);
}

TEST_F(FileDropTest, LinksWhereTheFileSystemCannotRenameWithoutReplacing) {
  for (const int error : {EINVAL, ENOSYS}) {
    fail(Op::kRename, error);
    FileDrop one = new_drop();
    const std::string stem = "q1-42-" + std::to_string(error);
    ASSERT_TRUE(drop(one, stem));
    EXPECT_EQ(folder_.read(stem + ".csv"), kBytes);
    const auto other = drop(one, stem, "other");
    ASSERT_TRUE(other);
    EXPECT_EQ(*other, stem + "-2.csv");
  }
  for (const std::string& name : names()) EXPECT_FALSE(name.starts_with('.')) << name;
}

TEST_F(FileDropTest, RefusesAFileSystemThatWouldReplace) {
  files_->before = [](Op op) { return op == Op::kRename ? EINVAL : op == Op::kLink ? EPERM : 0; };
  FileDrop one = new_drop();
  const auto dropped = drop(one);
  ASSERT_FALSE(dropped);
  EXPECT_THAT(dropped.error().text, HasSubstr("choose one that can"));
}

TEST_F(FileDropTest, NeedsNoSyncOfFoldersWhereThereIsNone) {
  fail(Op::kSyncFolder, EINVAL);
  FileDrop one = new_drop();
  EXPECT_TRUE(drop(one));
}

TEST_F(FileDropTest, RemovesWhatACrashLeftAndNothingElse) {
  std::string left;
  files_->before = [&](Op op) {
    if (op == Op::kSyncFile) left = names().front();
    return op == Op::kSyncFile || op == Op::kRemove ? EIO : 0;
  };
  {
    FileDrop one = new_drop();
    ASSERT_FALSE(drop(one));
  }
  ASSERT_TRUE(folder_.has(left));
  files_->before = [](Op) { return 0; };
  const std::string begin = left.substr(0, left.size() - 21);  // without 16 digits and ".part"
  const std::vector<std::string> others = {
      ".girdled-0123456789abcdef-0123456789abcdef.part",  // of another outlet
      begin + "0123456789abcdef.part.txt",
      begin + "0123456789abcdeX.part",
      begin + "0123456789abcde.part",
      "a" + left,
      ".part",
      ".hidden",
      "stock.csv"};
  for (const std::string& name : others) folder_.write(name, "mine");
  FileDrop next = new_drop();
  ASSERT_TRUE(drop(next));
  EXPECT_FALSE(folder_.has(left));
  for (const std::string& name : others) EXPECT_TRUE(folder_.has(name)) << name;
}

TEST_F(FileDropTest, RemovesWhatACrashLeftOnceTheFolderCanBeWrittenTo) {
  FileDrop one = new_drop();
  std::string left;
  files_->before = [&](Op op) {
    if (op == Op::kSyncFile) left = names().front();
    return 0;
  };
  ASSERT_TRUE(drop(one));
  const std::string begin = left.substr(0, left.size() - 21);  // without 16 digits and ".part"
  const std::string unfinished = begin + "0123456789abcdef.part";
  folder_.write(unfinished, "hal");
  FileDrop next = new_drop();
  files_->before = [](Op op) { return op == Op::kCreate || op == Op::kRemove ? EROFS : 0; };
  ASSERT_FALSE(drop(next, "q1-42-4"));
  ASSERT_TRUE(folder_.has(unfinished));
  files_->before = [](Op) { return 0; };
  ASSERT_TRUE(drop(next, "q1-42-4"));
  EXPECT_FALSE(folder_.has(unfinished));
}

TEST_F(FileDropTest, LeavesUnfinishedFilesOfAnotherOutletAlone) {
  std::string left;
  files_->before = [&](Op op) {
    if (op == Op::kSyncFile && left.empty()) {
      left = names().front();
      FileDrop other = new_drop("quay-street till");
      EXPECT_TRUE(drop(other, "q1-7-1"));
      EXPECT_TRUE(folder_.has(left));
    }
    return 0;
  };
  FileDrop one = new_drop();
  EXPECT_TRUE(drop(one));
  EXPECT_THAT(names(), ElementsAre("q1-42-3.csv", "q1-7-1.csv"));
}

// Whichever operation fails, and however: afterwards nothing half is to be seen, and the next
// attempt ends with one whole file.
TEST_F(FileDropTest, SurvivesEveryFailingOperation) {
  files_->most_written = 2000;
  for (const bool linking : {false, true}) {
    for (const int error : {EIO, ENOSPC}) {
      bool failed = true;
      for (int fail_at = 1; failed; ++fail_at) {
        int count = 0;
        failed = false;
        files_->before = [&](Op op) {
          if (++count == fail_at) {
            failed = true;
            return error;
          }
          return linking && op == Op::kRename ? EINVAL : 0;
        };
        {
          FileDrop one = new_drop();
          drop(one).ok();
        }
        for (const std::string& name : names()) {
          if (name.starts_with('.')) continue;
          EXPECT_EQ(folder_.read(name), kBytes) << fail_at;
        }
        files_->before = [](Op) { return 0; };
        FileDrop next = new_drop();
        ASSERT_TRUE(drop(next)) << fail_at;
        ASSERT_THAT(names(), ElementsAre("q1-42-3.csv")) << fail_at;
        ASSERT_EQ(folder_.read("q1-42-3.csv"), kBytes);
        std::filesystem::remove(folder_ / "q1-42-3.csv");
      }
    }
  }
}

// The process dies before each operation in turn, and in the middle of the writing.
TEST_F(FileDropTest, SurvivesACrashBetweenAnyTwoSteps) {
  files_->most_written = 2000;
  for (const bool linking : {false, true}) {
    bool crashed = true;
    int crash_at = 1;
    for (; crashed; ++crash_at) {
      const pid_t child = ::fork();
      ASSERT_GE(child, 0);
      if (child == 0) {
        int count = 0;
        files_->before = [&](Op op) {
          if (++count == crash_at) ::_exit(9);
          return linking && op == Op::kRename ? EINVAL : 0;
        };
        FileDrop one = new_drop();
        ::_exit(drop(one) ? 0 : 1);
      }
      int status = 0;
      ASSERT_EQ(::waitpid(child, &status, 0), child);
      ASSERT_TRUE(WIFEXITED(status));
      crashed = WEXITSTATUS(status) == 9;
      EXPECT_TRUE(crashed || WEXITSTATUS(status) == 0);
      for (const std::string& name : names()) {
        if (name.starts_with('.')) continue;
        EXPECT_EQ(folder_.read(name), kBytes) << crash_at;
      }
      FileDrop next = new_drop();
      const auto dropped = drop(next);
      ASSERT_TRUE(dropped) << dropped.error().text;
      EXPECT_EQ(*dropped, "q1-42-3.csv");
      ASSERT_THAT(names(), ElementsAre("q1-42-3.csv")) << crash_at;
      ASSERT_EQ(folder_.read("q1-42-3.csv"), kBytes);
      std::filesystem::remove(folder_ / "q1-42-3.csv");
    }
    EXPECT_GT(crash_at, 8);  // as many as there are operations
  }
}

TEST_F(FileDropTest, ShowsNothingOnceItWasGivenUp) {
  files_->before = [this](Op op) {
    if (op == Op::kSyncFile) given_up_ = true;
    return 0;
  };
  FileDrop one = new_drop();
  EXPECT_FALSE(drop(one));
  EXPECT_THAT(names(), IsEmpty());
}

}  // namespace
}  // namespace girdle::delivery
