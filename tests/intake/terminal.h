// A pair of terminals: the test holds the instrument's end, the intake opens the other by its name.
// Behaves as a serial line does but for speed and parity, which it does not have.
#pragma once

#include <fcntl.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

#include <filesystem>
#include <string>
#include <string_view>

namespace girdle::intake {

class Terminal {
 public:
  Terminal() { plug_in(); }
  ~Terminal() { unplug(); }
  Terminal(const Terminal&) = delete;
  Terminal& operator=(const Terminal&) = delete;

  // A link of a name that stays the same points to the terminal that is plugged in.
  void name(const std::filesystem::path& link) {
    link_ = link;
    link_to_device();
  }

  void plug_in() {
    instrument_ = ::posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC | O_NONBLOCK);
    ASSERT_GE(instrument_, 0);
    ASSERT_EQ(::grantpt(instrument_), 0);
    ASSERT_EQ(::unlockpt(instrument_), 0);
    device_ = ::ptsname(instrument_);
    // Held open, so that the test may look at the mode; an open descriptor also keeps the mode when
    // the intake closes.
    spare_ = ::open(device_.c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC | O_NONBLOCK);
    if (!link_.empty()) link_to_device();
  }
  // Hangs up.
  void unplug() {
    ::close(std::exchange(spare_, -1));
    ::close(std::exchange(instrument_, -1));
    if (!link_.empty()) std::filesystem::remove(link_);
  }

  const std::string& device() const { return device_; }

  void send(std::string_view bytes) const {
    ASSERT_EQ(::write(instrument_, bytes.data(), bytes.size()), static_cast<ssize_t>(bytes.size()));
  }
  // What came back to the instrument so far.
  std::string received() const {
    char buffer[256];
    const ssize_t count = ::read(instrument_, buffer, sizeof buffer);
    return {buffer, count > 0 ? static_cast<size_t>(count) : 0};
  }

  termios mode() const {
    termios mode = {};
    EXPECT_EQ(::tcgetattr(spare_, &mode), 0);
    return mode;
  }
  void set_mode(const termios& mode) const { ASSERT_EQ(::tcsetattr(spare_, TCSANOW, &mode), 0); }

 private:
  void link_to_device() {
    std::filesystem::remove(link_);
    std::filesystem::create_symlink(device_, link_);
  }

  int instrument_ = -1;
  int spare_ = -1;
  std::string device_;
  std::filesystem::path link_;
};

}  // namespace girdle::intake
