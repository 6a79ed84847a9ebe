#include "cli/control_call.h"

#include <pwd.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <thread>

#include "base/text.h"
#include "service/control.h"
#include "service/control_actions.h"

namespace girdle::cli {
namespace {

using base::Result;
using service::ControlAnswer;

constexpr int kTries = 15;
constexpr std::chrono::milliseconds kBetween{200};

Result<ControlAnswer> done_or_refused(ControlAnswer answer) {
  if (!answer.refused.empty()) return base::input_error(answer.refused);
  return answer;
}

}  // namespace

// A service that starts or stops holds the ledger's lock and does not listen: that passes.
Result<ControlAnswer> ask_or_do(const std::filesystem::path& ledger, const service::ControlRequest& request) {
  for (int left = kTries;; --left) {
    auto asked = service::ask(ledger, request);
    if (!asked) return asked.error();
    if (*asked) return done_or_refused(std::move(**asked));
    auto open = ledger::Ledger::open(ledger);
    if (open) {
      auto answer = service::carry_out_alone(**open, request, base::SystemClock().now());
      if (!answer) return answer.error();
      return done_or_refused(std::move(answer).value());
    }
    if (open.error().fault != base::Fault::kEnvironment || left == 1) return open.error();
    std::this_thread::sleep_for(kBetween);
  }
}

std::string caller() {
  // sudo says for whom it works.
  if (const char* const behind = std::getenv("SUDO_USER"); ::getuid() == 0 && behind != nullptr && *behind != '\0') {
    return base::excerpt(behind);
  }
  passwd entry{};
  passwd* found = nullptr;
  std::array<char, 4096> room;
  if (::getpwuid_r(::getuid(), &entry, room.data(), room.size(), &found) == 0 && found != nullptr) return found->pw_name;
  return "user " + std::to_string(::getuid());
}

}  // namespace girdle::cli
