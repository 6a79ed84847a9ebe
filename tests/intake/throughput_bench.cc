// Measures, by hand: how many one-record files a second a folder intake takes in, with a sink that
// only counts. Every file is looked at, opened, read, hashed and handed over; nothing is stored.
//   girdle_intake_bench FOLDER COUNT     makes COUNT files in the (new) FOLDER, then takes them in
//   and scans again
#include <sys/resource.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <string>
#include <unordered_map>

#include "intake/intake.h"

namespace girdle::intake {
namespace {

class CountingSink final : public Sink {
 public:
  explicit CountingSink(boost::asio::any_io_executor executor) : executor_(std::move(executor)) {}

  std::optional<model::FilePosition> position(std::string_view name) override {
    const auto found = positions_.find(std::string(name));
    return found == positions_.end() ? std::nullopt : std::optional(found->second);
  }
  bool is_known(const base::Digest&) override { return false; }
  void begin(const model::Document&, std::string_view) override {}
  boost::asio::awaitable<void> feed(std::string_view) override { co_return; }
  boost::asio::awaitable<Read> finish(bool) override { co_return Read(); }
  boost::asio::awaitable<void> commit(std::optional<model::FilePosition> position,
                                      Done done) override {
    keep(std::move(*position), std::move(done));
    co_return;
  }
  boost::asio::awaitable<void> move_position(model::FilePosition position, Done done) override {
    keep(std::move(position), std::move(done));
    co_return;
  }
  void abandon() override {}
  boost::asio::awaitable<void> set_aside(const model::Document&, model::Aside,
                                         std::optional<model::FilePosition>, Done done) override {
    done(true);
    co_return;
  }

 private:
  // Commits of 1,000, as a ledger that gathers.
  void keep(model::FilePosition position, Done done) {
    positions_.emplace(position.name, std::move(position));
    waiting_.push_back(std::move(done));
    if (waiting_.size() == 1) {
      boost::asio::post(executor_, [this] {
        std::vector<Done> dones;
        dones.swap(waiting_);
        for (const Done& one : dones) one(true);
      });
    }
  }

  boost::asio::any_io_executor executor_;
  std::unordered_map<std::string, model::FilePosition> positions_;
  std::vector<Done> waiting_;
};

double seconds_since(std::chrono::steady_clock::time_point began) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
}

int run(const char* folder, int count) {
  std::filesystem::create_directories(folder);
  for (int i = 0; i < count; ++i) {
    std::ofstream(std::string(folder) + "/reading-" + std::to_string(i) + ".csv")
        << "A-0117;" << i << ";2026-11-02 10:15:30;R" << i << ";natural;0.53\n";
  }
  config::Intake settings;
  settings.name = "counter-1";
  config::FolderIntake folder_settings;
  folder_settings.path = folder;
  settings.source = folder_settings;
  boost::asio::io_context context(1);
  CountingSink sink(context.get_executor());
  base::SystemClock clock;
  auto intake =
      make_intake(settings, sink, clock, base::Log::to_stderr("warning"), context.get_executor());
  for (const char* what : {"taken in", "scanned again"}) {
    const auto began = std::chrono::steady_clock::now();
    boost::asio::co_spawn(context, (*intake)->scan_once(), boost::asio::detached);
    context.restart();
    context.run();
    const double seconds = seconds_since(began);
    std::printf("%s: %d files in %.3f s, %.0f files/s\n", what, count, seconds, count / seconds);
  }
  rusage usage;
  ::getrusage(RUSAGE_SELF, &usage);
  std::printf("documents %llu, peak RSS %ld KiB (with the positions that the sink keeps)\n",
              static_cast<unsigned long long>((*intake)->status().documents), usage.ru_maxrss);
  return (*intake)->status().documents == static_cast<uint64_t>(count) ? 0 : 1;
}

}  // namespace
}  // namespace girdle::intake

int main(int argc, char** argv) {
  if (argc != 3) {
    std::fprintf(stderr, "usage: girdle_intake_bench FOLDER COUNT\n");
    return 2;
  }
  return girdle::intake::run(argv[1], std::stoi(argv[2]));
}
