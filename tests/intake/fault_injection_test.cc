// Every operation of the file system, and every commit, fails once, each in a run of its own:
// nothing is lost, nothing is durable twice.
#include <gtest/gtest.h>

#include "faulty_files.h"
#include "intake/folder_intake.h"
#include "loop.h"
#include "temp_folder.h"

namespace girdle::intake {
namespace {

using namespace std::chrono_literals;

class FaultInjectionTest : public testing::Test {
 protected:
  struct Run {
    TempFolder folder;
    Loop loop;
    std::shared_ptr<FaultyFiles> files = std::make_shared<FaultyFiles>();
    config::Intake settings;
    std::unique_ptr<FolderIntake> intake;
    ~Run() { loop.stop(); }
  };

  std::unique_ptr<Run> begin(bool growing) {
    auto run = std::make_unique<Run>();
    run->settings.name = "counter-1";
    config::FolderIntake folder_settings;
    folder_settings.path = run->folder.path();
    folder_settings.growing = growing;
    folder_settings.match = "*.csv";
    folder_settings.settle = 3ms;
    folder_settings.scan_every = 5ms;
    folder_settings.move_done = !growing;
    run->settings.source = folder_settings;
    run->intake =
        std::make_unique<FolderIntake>(run->settings, run->files, run->loop.sink, run->loop.clock,
                                       run->loop.log, run->loop.context.get_executor());
    return run;
  }

  static std::string large() {
    std::string text;
    while (text.size() < (1u << 20) + 300'000)
      text += "a line of a large file " + std::to_string(text.size()) + "\n";
    return text;
  }

  // A small file, a large one that needs two passes, and a later one that only an event or a scan
  // tells of.
  void whole_files(Run& run) {
    run.folder.write("a.csv", "a\n");
    run.folder.put("b.csv", large_);
    run.loop.start(*run.intake);
    ASSERT_TRUE(run.loop.until([&] { return run.loop.sink.taken.size() >= 2; }));
    run.folder.write("c.csv", "c\n");
    ASSERT_TRUE(run.loop.until([&] { return run.loop.sink.taken.size() >= 3; }));
    ASSERT_TRUE(run.loop.until([&] {
      return run.folder.has("done/a.csv") && run.folder.has("done/b.csv") &&
             run.folder.has("done/c.csv");
    }));
    EXPECT_EQ(run.loop.sink.taken.size(), 3u);
    EXPECT_EQ(run.loop.sink.bytes_of("a.csv"), "a\n");
    EXPECT_TRUE(run.loop.sink.bytes_of("b.csv") == large_);
    EXPECT_EQ(run.loop.sink.bytes_of("c.csv"), "c\n");
  }

  // A file that grows, is rotated away with a rest, and begins anew.
  void growing_files(Run& run) {
    run.folder.write("a.csv", "1\n2\nha");
    run.loop.start(*run.intake);
    ASSERT_TRUE(run.loop.until([&] { return run.loop.sink.lines().size() >= 2; }));
    run.folder.append("a.csv", "lf\n3\n");
    ASSERT_TRUE(run.loop.until([&] { return run.loop.sink.lines().size() >= 4; }));
    run.folder.append("a.csv", "rest\n");
    std::filesystem::rename(run.folder / "a.csv", run.folder / "a.old");
    run.folder.write("a.csv", "new\n");
    ASSERT_TRUE(run.loop.until([&] { return run.loop.sink.lines().size() >= 6; }));
    run.loop.run_for(15ms);  // a second copy would come with the next scan
    EXPECT_EQ(sorted(run.loop.sink.lines()), sorted({"1", "2", "half", "3", "rest", "new"}));
  }

  static std::vector<std::string> sorted(std::vector<std::string> lines) {
    std::sort(lines.begin(), lines.end());
    return lines;
  }

  const std::string large_ = large();
};

TEST_F(FaultInjectionTest, WholeFilesSurviveAFailureOfEveryOperation) {
  uint64_t operations = 0;
  for (uint64_t n = 0; n <= operations; ++n) {
    SCOPED_TRACE("operation " + std::to_string(n) + " fails");
    auto run = begin(false);
    run->files->fail_at = n;
    whole_files(*run);
    if (HasFatalFailure() || HasNonfatalFailure()) break;
    if (n == 0) operations = run->files->count;
  }
  EXPECT_GT(operations, 20u);
}

TEST_F(FaultInjectionTest, WholeFilesSurviveAFailureOfEveryCommit) {
  for (int n = 1; n <= 3; ++n) {
    SCOPED_TRACE("commit " + std::to_string(n) + " fails");
    auto run = begin(false);
    run->loop.sink.fails = [n](int number) { return number == n; };
    whole_files(*run);
  }
}

TEST_F(FaultInjectionTest, GrowingFilesSurviveAFailureOfEveryOperation) {
  uint64_t operations = 0;
  for (uint64_t n = 0; n <= operations; ++n) {
    SCOPED_TRACE("operation " + std::to_string(n) + " fails");
    auto run = begin(true);
    run->files->fail_at = n;
    growing_files(*run);
    if (HasFatalFailure() || HasNonfatalFailure()) break;
    if (n == 0) operations = run->files->count;
  }
  EXPECT_GT(operations, 20u);
}

TEST_F(FaultInjectionTest, GrowingFilesSurviveAFailureOfEveryCommit) {
  for (int n = 1; n <= 5; ++n) {
    SCOPED_TRACE("commit " + std::to_string(n) + " fails");
    auto run = begin(true);
    run->loop.sink.fails = [n](int number) { return number == n; };
    growing_files(*run);
  }
}

}  // namespace
}  // namespace girdle::intake
