#include "intake/files.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <cerrno>
#include <vector>

#include "temp_folder.h"

namespace girdle::intake {
namespace {

class FilesTest : public testing::Test {
 protected:
  void SetUp() override { ASSERT_EQ(files.open_folder(folder.path(), opened), 0); }

  TempFolder folder;
  PosixFiles files;
  Descriptor opened;
};

TEST_F(FilesTest, ListsEveryNameOnceInTheOrderOfTheNames) {
  std::vector<std::string> expected, listed;
  for (int i = 1000; i < 2000; ++i) {
    expected.push_back(std::to_string(i));
    folder.write(std::to_string(2999 - i), "");
  }
  std::unique_ptr<Listing> listing;
  ASSERT_EQ(files.list(opened.get(), listing), 0);
  std::string_view name;
  while (listing->next(name) == 0 && !name.empty()) listed.emplace_back(name);
  EXPECT_EQ(listed, expected);
}

TEST_F(FilesTest, TellsKindsWithoutFollowingLinks) {
  folder.write("file", "12345");
  std::filesystem::create_symlink("file", folder / "link");
  std::filesystem::create_directory(folder / "folder");
  ASSERT_EQ(::mkfifo((folder / "pipe").c_str(), 0600), 0);
  FileStatus status;
  ASSERT_EQ(files.status_at(opened.get(), "file", status), 0);
  EXPECT_EQ(status.kind, FileKind::kFile);
  EXPECT_EQ(status.size, 5u);
  ASSERT_EQ(files.status_at(opened.get(), "link", status), 0);
  EXPECT_EQ(status.kind, FileKind::kLink);
  ASSERT_EQ(files.status_at(opened.get(), "folder", status), 0);
  EXPECT_EQ(status.kind, FileKind::kFolder);
  ASSERT_EQ(files.status_at(opened.get(), "pipe", status), 0);
  EXPECT_EQ(status.kind, FileKind::kPipe);
  EXPECT_EQ(files.status_at(opened.get(), "missing", status), ENOENT);
}

TEST_F(FilesTest, OpensNoLinkAndDoesNotWaitForThePipesWriter) {
  folder.write("file", "1");
  std::filesystem::create_symlink("file", folder / "link");
  ASSERT_EQ(::mkfifo((folder / "pipe").c_str(), 0600), 0);
  Descriptor file;
  EXPECT_EQ(files.open_at(opened.get(), "link", file), ELOOP);
  EXPECT_FALSE(file);
  EXPECT_EQ(files.open_at(opened.get(), "pipe", file), 0);
  ASSERT_EQ(files.open_at(opened.get(), "file", file), 0);
  EXPECT_EQ(::fcntl(file.get(), F_GETFD) & FD_CLOEXEC, FD_CLOEXEC);
}

TEST_F(FilesTest, ReadsFromAPlaceUpToTheEnd) {
  folder.write("file", "0123456789");
  Descriptor file;
  ASSERT_EQ(files.open_at(opened.get(), "file", file), 0);
  char buffer[8];
  size_t got = 0;
  ASSERT_EQ(files.read_at(file.get(), buffer, 4, got), 0);
  EXPECT_EQ(std::string_view(buffer, got), "456789");
  ASSERT_EQ(files.read_at(file.get(), buffer, 10, got), 0);
  EXPECT_EQ(got, 0u);
}

TEST_F(FilesTest, AMoveReplacesNothing) {
  folder.write("a", "a");
  folder.write("b", "b");
  EXPECT_EQ(files.move_at(opened.get(), "a", "b"), EEXIST);
  EXPECT_EQ(folder.read("b"), "b");
  EXPECT_EQ(files.make_folder_at(opened.get(), "done"), 0);
  EXPECT_EQ(files.make_folder_at(opened.get(), "done"), EEXIST);
  EXPECT_EQ(files.move_at(opened.get(), "a", "done/a"), 0);
  EXPECT_EQ(folder.read("done/a"), "a");
  EXPECT_FALSE(folder.has("a"));
}

TEST(DescriptorTest, ClosesOnce) {
  Descriptor first(::open("/dev/null", O_RDONLY | O_CLOEXEC));
  const int number = first.get();
  Descriptor second = std::move(first);
  EXPECT_FALSE(first);
  EXPECT_EQ(second.get(), number);
  second.close();
  EXPECT_EQ(::fcntl(number, F_GETFD), -1);
  EXPECT_EQ(errno, EBADF);
}

}  // namespace
}  // namespace girdle::intake
