#include "vet/mutation.h"

#include <algorithm>
#include <random>
#include <string_view>

namespace girdle::vet {
namespace {

using namespace std::string_view_literals;

constexpr size_t kMost = 32 << 10;

// What means something in one format or another, and what means nothing in any.
constexpr std::string_view kTokens[] = {"\0"sv,          "\xFF"sv,  "\xEF\xBB\xBF"sv,
                                        "\xFF\xFE"sv,    "\xC3"sv,  "\xC3\xA9"sv,
                                        "\r"sv,          "\n"sv,    "\r\n"sv,
                                        "\t"sv,          "\""sv,    "\\"sv,
                                        "'"sv,           ","sv,     ";"sv,
                                        "|"sv,           "="sv,     ":"sv,
                                        "<"sv,           ">"sv,     "&"sv,
                                        "{"sv,           "}"sv,     "["sv,
                                        "]"sv,           "<!--"sv,  "]]>"sv,
                                        "#"sv,           "\x02"sv,  "\x03"sv,
                                        "\x04"sv,        "\x1A"sv,  "\x1D"sv,
                                        "-1"sv,          "1e999"sv, "9999999999"sv,
                                        "\xED\xA0\x80"sv};

class Change {
 public:
  Change(std::string bytes, std::string_view other, uint64_t seed)
      : bytes_(std::move(bytes)), other_(other), random_(seed) {}

  std::string made() {
    for (uint64_t times = 1 + below(4); times > 0; --times) once();
    if (bytes_.size() > kMost) bytes_.resize(kMost);
    return std::move(bytes_);
  }

 private:
  uint64_t below(uint64_t end) { return end == 0 ? 0 : random_() % end; }
  size_t place() { return below(bytes_.size() + 1); }
  // A stretch that is short more often than long.
  size_t stretch(size_t most) { return std::min<size_t>(most, below(below(2) ? 8 : 400) + 1); }

  static void flip(char& byte, uint64_t bit) {
    byte = static_cast<char>(static_cast<unsigned char>(byte) ^ (1u << bit));
  }

  void once() {
    switch (below(9)) {
      case 0:
        if (!bytes_.empty()) flip(bytes_[below(bytes_.size())], below(8));
        break;
      case 1:
        if (!bytes_.empty()) bytes_[below(bytes_.size())] = static_cast<char>(random_());
        break;
      case 2:
        bytes_.insert(place(), kTokens[below(std::size(kTokens))]);
        break;
      case 3: {
        const size_t at = place();
        bytes_.erase(at, stretch(bytes_.size() - at));
        break;
      }
      case 4: {
        const size_t at = place();
        bytes_.insert(place(), std::string(bytes_, at, stretch(bytes_.size() - at)));
        break;
      }
      case 5:
        bytes_.resize(place());
        break;
      case 6: {
        const size_t at = below(other_.size() + 1);
        bytes_.insert(place(), other_.substr(at, stretch(other_.size() - at)));
        break;
      }
      case 7:
        bytes_.insert(place(), std::string(1 + below(300),
                                           bytes_.empty() ? 'x' : bytes_[below(bytes_.size())]));
        break;
      case 8:
        bytes_.insert(place(), repeated(kTokens[below(std::size(kTokens))], 1 + below(100)));
        break;
    }
  }

  static std::string repeated(std::string_view token, uint64_t times) {
    std::string out;
    for (; times > 0; --times) out += token;
    return out;
  }

  std::string bytes_;
  std::string_view other_;
  std::mt19937_64 random_;
};

}  // namespace

std::string changed(const std::vector<Sample>& samples, size_t index, uint64_t number) {
  const std::string& bytes = samples[index].bytes;
  const Sample& other = samples[(index + number) % samples.size()];
  // Of a large sample its beginning, which has the header, or another part.
  const size_t from =
      bytes.size() > kMost && number % 2 == 1 ? number * 4099 % (bytes.size() - kMost) : 0;
  return Change(bytes.substr(from, kMost), other.bytes, index * 1'000'003 + number).made();
}

}  // namespace girdle::vet
