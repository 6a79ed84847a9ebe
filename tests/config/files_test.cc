#include "config/files.h"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <fstream>

namespace girdle::config {
namespace {

class DiskTest : public testing::Test {
 protected:
  void SetUp() override {
    std::string name = testing::TempDir() + "girdle_config_XXXXXX";
    ASSERT_NE(mkdtemp(name.data()), nullptr);
    folder_ = name;
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  void write(const std::string& name, const std::string& text) const {
    std::ofstream(folder_ / name, std::ios::binary) << text;
  }

  std::filesystem::path folder_;
  Disk disk_;
};

TEST_F(DiskTest, TellsFilesFoldersAndWhatIsMissing) {
  write("a", "x");
  ASSERT_EQ(mkfifo((folder_ / "pipe").c_str(), 0600), 0);
  EXPECT_EQ(disk_.kind(folder_ / "a"), Files::Kind::kFile);
  EXPECT_EQ(disk_.kind(folder_), Files::Kind::kFolder);
  EXPECT_EQ(disk_.kind(folder_ / "b"), Files::Kind::kMissing);
  EXPECT_EQ(disk_.kind(folder_ / "a" / "b"), Files::Kind::kMissing);
  EXPECT_EQ(disk_.kind(folder_ / "pipe"), Files::Kind::kOther);
}

TEST_F(DiskTest, ReadsUpToTheLimit) {
  const std::string text(100'000, 'x');
  write("a", text);
  EXPECT_EQ(disk_.read(folder_ / "a", text.size()).value(), text);
  EXPECT_EQ(disk_.read(folder_ / "a", 99 << 10).value(), text);
  EXPECT_EQ(disk_.read(folder_ / "a", 64 << 10).error().text,
            "is larger than 64 KiB: it is no configuration");
  write("empty", "");
  EXPECT_EQ(disk_.read(folder_ / "empty", 10).value(), "");
}

TEST_F(DiskTest, SaysWhyAFileCannotBeRead) {
  EXPECT_EQ(disk_.read(folder_ / "b", 10).error().text,
            "cannot be read: No such file or directory");
}

TEST_F(DiskTest, KnowsOneFolderByItsTwoNames) {
  std::filesystem::create_directory(folder_ / "a");
  std::filesystem::create_symlink("a", folder_ / "b");
  EXPECT_EQ(disk_.canonical(folder_ / "b" / "x"), disk_.canonical(folder_ / "a" / "." / "x"));
  EXPECT_NE(disk_.canonical(folder_ / "c"), disk_.canonical(folder_ / "a"));
}

TEST_F(DiskTest, KnowsWhereSystemdPutsCredentials) {
  // systemd.exec(5), "Credentials": services find them in $CREDENTIALS_DIRECTORY.
  ASSERT_EQ(unsetenv("CREDENTIALS_DIRECTORY"), 0);
  EXPECT_EQ(disk_.credentials(), "");
  ASSERT_EQ(setenv("CREDENTIALS_DIRECTORY", "/run/credentials/girdled.service", 1), 0);
  EXPECT_EQ(disk_.credentials(), "/run/credentials/girdled.service");
  ASSERT_EQ(unsetenv("CREDENTIALS_DIRECTORY"), 0);
}

}  // namespace
}  // namespace girdle::config
