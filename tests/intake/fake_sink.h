// A sink that reads lines and keeps a ledger in memory, as durable as a test wants it.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/post.hpp>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "base/digest.h"
#include "intake/sink.h"

namespace girdle::intake {

class FakeSink final : public Sink {
 public:
  struct Taken {
    model::Document document;
    std::string bytes;   // up to the end of the last complete line, or all of a whole document
    std::string resume;  // as it was given to begin()
    bool whole = false;
    std::optional<model::FilePosition> position;
  };
  struct Refused {
    model::Document document;
    model::Aside aside;
  };

  explicit FakeSink(boost::asio::any_io_executor executor) : executor_(std::move(executor)) {}

  // What is durable.
  std::vector<Taken> taken;
  std::vector<Refused> refused;
  std::map<std::string, model::FilePosition, std::less<>> positions;
  std::set<base::Digest> digests;

  int begun = 0, abandoned = 0, moved = 0, commits = 0, in_flight = 0, most_in_flight = 0;
  int looked_up = 0;  // calls of position()

  // Ends the lines of a document that is not whole.
  char line_end = '\n';
  // Dones are kept back until release().
  bool holds_back = false;
  // What is committed from now on is durable, and nobody is told of it: the program was killed.
  bool was_killed = false;
  // Whether the commit with this number (from 1, of any kind) fails.
  std::function<bool(int)> fails = [](int) { return false; };
  // Called in each feed.
  std::function<void()> on_feed = [] {};

  void release() {
    std::vector<std::function<void()>> held;
    held.swap(held_);
    for (auto& done : held) done();
  }

  // Of the documents of this name (all when empty), one after another.
  std::string bytes_of(std::string_view name = {}) const {
    std::string out;
    for (const Taken& one : taken) {
      if (name.empty() || one.document.name == name) out += one.bytes;
    }
    return out;
  }
  size_t count(std::string_view name) const {
    return static_cast<size_t>(std::count_if(
        taken.begin(), taken.end(), [&](const Taken& one) { return one.document.name == name; }));
  }
  std::vector<std::string> lines() const {
    std::vector<std::string> out;
    for (const Taken& one : taken) {
      for (size_t from = 0; from < one.bytes.size();) {
        const size_t end = std::min(one.bytes.find('\n', from), one.bytes.size());
        out.push_back(one.bytes.substr(from, end - from));
        from = end + 1;
      }
    }
    return out;
  }

  std::optional<model::FilePosition> position(std::string_view name) override {
    ++looked_up;
    const auto found = positions.find(name);
    return found == positions.end() ? std::nullopt : std::optional(found->second);
  }
  bool is_known(const base::Digest& digest) override { return digests.contains(digest); }

  void begin(const model::Document& document, std::string_view resume) override {
    EXPECT_FALSE(is_open_) << "begin within a document";
    is_open_ = true;
    is_finished_ = false;
    ++begun;
    now_ = {document, "", std::string(resume), false, std::nullopt};
  }
  boost::asio::awaitable<void> feed(std::string_view bytes) override {
    EXPECT_TRUE(is_open_ && !is_finished_) << "feed outside a document";
    on_feed();
    now_.bytes += bytes;
    co_return;
  }
  boost::asio::awaitable<Read> finish(bool whole) override {
    EXPECT_TRUE(is_open_ && !is_finished_) << "finish outside a document";
    is_finished_ = true;
    now_.whole = whole;
    if (!whole) now_.bytes.resize(now_.bytes.rfind(line_end) + 1);
    const auto lines =
        static_cast<size_t>(std::count(now_.bytes.begin(), now_.bytes.end(), line_end));
    const size_t before = now_.resume.empty() ? 0 : std::stoul(now_.resume);
    Read read{now_.bytes.size(), std::to_string(before + lines)};
    co_return read;
  }
  boost::asio::awaitable<void> commit(std::optional<model::FilePosition> position,
                                      Done done) override {
    EXPECT_TRUE(is_open_ && is_finished_) << "commit outside a document";
    is_open_ = false;
    now_.position = std::move(position);
    settle(
        [this, taken = now_] {
          if (taken.position) positions[taken.position->name] = *taken.position;
          digests.insert(taken.document.digest);
          this->taken.push_back(taken);
        },
        std::move(done));
    co_return;
  }
  boost::asio::awaitable<void> move_position(model::FilePosition position, Done done) override {
    EXPECT_FALSE(is_open_) << "move_position within a document";
    settle(
        [this, position] {
          ++moved;
          positions[position.name] = position;
        },
        std::move(done));
    co_return;
  }
  void abandon() override {
    EXPECT_TRUE(is_open_) << "abandon outside a document";
    is_open_ = false;
    ++abandoned;
  }
  boost::asio::awaitable<void> set_aside(const model::Document& document, model::Aside aside,
                                         std::optional<model::FilePosition> position,
                                         Done done) override {
    EXPECT_FALSE(is_open_) << "set_aside within a document";
    settle(
        [this, document, aside, position] {
          if (position) positions[position->name] = *position;
          refused.push_back({document, aside});
        },
        std::move(done));
    co_return;
  }

 private:
  void settle(std::function<void()> apply, Done done) {
    const bool good = !fails(++commits);
    most_in_flight = std::max(most_in_flight, ++in_flight);
    auto end = [this, good, apply = std::move(apply), done = std::move(done)] {
      --in_flight;
      if (good) apply();
      if (!was_killed) done(good);
    };
    if (holds_back) {
      held_.push_back(std::move(end));
    } else {
      boost::asio::post(executor_, std::move(end));
    }
  }

  boost::asio::any_io_executor executor_;
  bool is_open_ = false, is_finished_ = false;
  Taken now_;
  std::vector<std::function<void()>> held_;
};

}  // namespace girdle::intake
