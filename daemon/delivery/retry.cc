#include "delivery/retry.h"

#include <algorithm>

#include "delivery/http_date.h"

namespace girdle::delivery {
namespace {

Meaning meaning_of(int status) {
  if (status >= 200 && status <= 299) return Meaning::kSent;
  if (status == 410) return Meaning::kGone;
  if (status == 408 || status == 425 || status == 429) return Meaning::kBusy;
  if (status >= 300 && status <= 499) return Meaning::kRefused;
  return Meaning::kBusy;  // 5xx; and what is no status at all, which a broken receiver sends
}

std::string_view advice(int status) {
  if (status >= 300 && status <= 399) {
    return "redirects are never followed: put the receiver's new address into the outlet's url";
  }
  switch (status) {
    case 401:
    case 403:
      return "check that the receiver knows this outlet's secret, token or password, and that it is still good";
    case 404:
    case 405:
      return "check the path in the outlet's url";
    case 413:
      return "the receiver takes no message of this size";
    case 415:
      return "the receiver does not take this kind of body: compare its manual with the outlet's body";
    default:
      return "the receiver does not take this message; its own log should say why";
  }
}

std::string note_of(const Attempt& attempt, Meaning meaning) {
  if (attempt.end != Attempt::End::kAnswered) return attempt.failure;
  std::string note = "answered " + std::to_string(attempt.status);
  if (!attempt.failure.empty()) note.append(" (").append(attempt.failure).append(")");
  if (meaning == Meaning::kRefused) note.append(": ").append(advice(attempt.status));
  if (meaning == Meaning::kGone) note += ": the receiver takes no more messages at this address";
  return note;
}

base::Millis spread(base::Millis wait, double random) {
  return base::Millis(
      static_cast<int64_t>(static_cast<double>(wait.count()) * (0.9 + 0.2 * random)));
}

}  // namespace

Meaning meaning_of(const Attempt& attempt) {
  if (attempt.end == Attempt::End::kTaken) return Meaning::kSent;
  return attempt.end == Attempt::End::kFailed ? Meaning::kBusy : meaning_of(attempt.status);
}

base::Millis longest_wait(std::span<const base::Millis> schedule) {
  base::Millis longest = kLongestRetryAfter;
  for (const base::Millis wait : schedule) longest = std::max(longest, spread(wait, 1));
  return longest;
}

Verdict judge(const Attempt& attempt, int64_t attempts, std::span<const base::Millis> schedule,
              base::Instant now, double random) {
  const Meaning meaning = meaning_of(attempt);
  Verdict verdict;
  if (meaning == Meaning::kSent) return verdict;
  verdict.note = note_of(attempt, meaning);
  if (meaning == Meaning::kGone) {
    verdict.kind = Verdict::Kind::kCloseOutlet;
    return verdict;
  }
  verdict.outlet_failing = meaning == Meaning::kBusy;
  if (verdict.outlet_failing) {
    const auto asked = parse_retry_after(attempt.retry_after, now);
    verdict.asked = std::min(asked.value_or(base::Millis(0)), kLongestRetryAfter);
  }
  const auto tries = static_cast<int64_t>(schedule.size()) + 1;
  const int64_t most = meaning == Meaning::kRefused ? std::min(kTriesOfRefused, tries) : tries;
  if (attempts >= most) {
    verdict.kind = Verdict::Kind::kPark;
    verdict.note +=
        "; given up after " + std::to_string(attempts) + (attempts == 1 ? " try" : " tries");
    return verdict;
  }
  verdict.kind = Verdict::Kind::kRetry;
  const auto waits = static_cast<size_t>(std::max<int64_t>(attempts, 1) - 1);
  verdict.wait = std::max(spread(schedule[waits], random), verdict.asked);
  return verdict;
}

}  // namespace girdle::delivery
