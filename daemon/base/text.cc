#include "base/text.h"

#include <algorithm>
#include <cstring>
#include <vector>

namespace girdle::base {

std::string_view trimmed(std::string_view text) {
  static constexpr std::string_view kSpace = " \t\r\n";
  const size_t from = text.find_first_not_of(kSpace);
  if (from == std::string_view::npos) return {};
  return text.substr(from, text.find_last_not_of(kSpace) - from + 1);
}

bool is_utf8(std::string_view text) {
  const auto* at = reinterpret_cast<const unsigned char*>(text.data());
  const auto* const end = at + text.size();
  while (at != end) {
    if (end - at >= 8) {  // most text is ASCII: eight bytes a step
      uint64_t word;
      std::memcpy(&word, at, 8);
      if ((word & 0x8080808080808080u) == 0) {
        at += 8;
        continue;
      }
    }
    const unsigned char first = *at++;
    if (first < 0x80) continue;
    int follow;
    unsigned char low = 0x80;
    unsigned char high = 0xBF;
    if (first >= 0xC2 && first <= 0xDF) {
      follow = 1;
    } else if (first >= 0xE0 && first <= 0xEF) {
      follow = 2;
      if (first == 0xE0) low = 0xA0;
      if (first == 0xED) high = 0x9F;
    } else if (first >= 0xF0 && first <= 0xF4) {
      follow = 3;
      if (first == 0xF0) low = 0x90;
      if (first == 0xF4) high = 0x8F;
    } else {
      return false;
    }
    for (; follow > 0; --follow) {
      if (at == end || *at < low || *at > high) return false;
      low = 0x80;
      high = 0xBF;
      ++at;
    }
  }
  return true;
}

std::string_view nearest(std::string_view word, std::span<const std::string_view> candidates) {
  std::string_view best;
  size_t best_distance = std::max<size_t>(1, word.size() / 3) + 1;
  std::vector<size_t> row;
  for (const std::string_view candidate : candidates) {
    row.resize(candidate.size() + 1);
    for (size_t j = 0; j < row.size(); ++j) row[j] = j;
    for (size_t i = 1; i <= word.size(); ++i) {
      size_t diagonal = row[0];
      row[0] = i;
      for (size_t j = 1; j < row.size(); ++j) {
        const size_t above = row[j];
        row[j] = std::min({above + 1, row[j - 1] + 1, diagonal + (word[i - 1] != candidate[j - 1])});
        diagonal = above;
      }
    }
    if (row.back() < best_distance) {
      best_distance = row.back();
      best = candidate;
    }
  }
  return best;
}

std::string excerpt(std::string_view text, size_t limit) {
  static constexpr char kDigits[] = "0123456789abcdef";
  const bool utf8 = is_utf8(text);
  std::string out;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    const bool continues = utf8 && (byte & 0xC0) == 0x80;
    if (out.size() >= limit && !continues) return out + "…";
    if (byte < 0x20 || byte == 0x7F || (byte >= 0x80 && !utf8)) {
      out += "\\x";
      out += kDigits[byte >> 4];
      out += kDigits[byte & 15];
    } else {
      out += c;
    }
  }
  return out;
}

std::string listed(std::span<const std::string_view> words, std::string_view last) {
  std::string out;
  for (size_t i = 0; i < words.size(); ++i) {
    if (i > 0) {
      if (i + 1 == words.size()) {
        out += ' ';
        out += last;
        out += ' ';
      } else {
        out += ", ";
      }
    }
    out += words[i];
  }
  return out;
}

std::string in_quotes(std::string_view text, size_t limit) {
  std::string out(1, '"');
  out += excerpt(text, limit);
  out += '"';
  return out;
}

std::string counted(uint64_t count, std::string_view thing) {
  std::string text = std::to_string(count) + ' ';
  text += thing;
  if (count != 1) text += 's';
  return text;
}

}  // namespace girdle::base
