#include "base/gs1_check.h"

#include <array>

namespace girdle::base {
namespace {

constexpr std::string_view kSet82 =
    "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz";
static_assert(kSet82.size() == 82);

// What check characters are made of: no 0 and 1, no O and I.
constexpr std::string_view kSet32 = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ";
static_assert(kSet32.size() == 32);

// Weights from the right: the primes.
constexpr uint32_t kPrimes[] = {2,  3,  5,  7,  11, 13, 17, 19, 23, 29, 31, 37,
                                41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83};

constexpr uint8_t kNone = 255;

constexpr std::array<uint8_t, 256> places() {
  std::array<uint8_t, 256> places{};
  places.fill(kNone);
  for (size_t i = 0; i < kSet82.size(); ++i)
    places[static_cast<uint8_t>(kSet82[i])] = static_cast<uint8_t>(i);
  return places;
}
constexpr auto kPlaces = places();

}  // namespace

char gs1_check_digit(std::string_view digits) {
  uint32_t sum = 0;
  uint32_t weight = 3;
  for (auto digit = digits.rbegin(); digit != digits.rend(); ++digit) {
    sum += weight * static_cast<uint32_t>(*digit - '0');
    weight = 4 - weight;
  }
  return static_cast<char>('0' + (10 - sum % 10) % 10);
}

std::optional<uint8_t> gs1_place_in_set_82(char c) {
  const uint8_t place = kPlaces[static_cast<uint8_t>(c)];
  if (place == kNone) return std::nullopt;
  return place;
}

std::optional<std::string> gs1_check_pair(std::string_view text) {
  if (text.size() > std::size(kPrimes)) return std::nullopt;
  uint32_t sum = 0;
  for (size_t i = 0; i < text.size(); ++i) {
    const auto place = gs1_place_in_set_82(text[text.size() - 1 - i]);
    if (!place) return std::nullopt;
    sum += *place * kPrimes[i];
  }
  sum %= 1021;
  return std::string{kSet32[sum / 32], kSet32[sum % 32]};
}

}  // namespace girdle::base
