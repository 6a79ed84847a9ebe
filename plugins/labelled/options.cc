#include <charconv>
#include <initializer_list>
#include <utility>

#include "kit/descriptor.h"
#include "kit/saved_state.h"
#include "labelled/labelled_reader.h"

namespace girdle::labelled {

namespace {

constexpr uint64_t kMostLines = 100'000;

// The place of an option's value among its choices; the first where it is not given. Nothing, and
// the reason in `refusal`, for any other.
std::optional<size_t> choice(const girdle_reader_setup& setup, const char* name,
                             std::initializer_list<std::string_view> choices,
                             std::string& refusal) {
  const std::string_view value = kit::option(setup, name);
  std::string list;
  size_t place = 0;
  for (const std::string_view word : choices) {
    if (value == word || (value.empty() && place == 0)) return place;
    list += (place == 0 ? "" : ", ") + std::string(word);
    ++place;
  }
  refusal = std::string(name) + ": must be one of " + list;
  return std::nullopt;
}

bool read_choices(const girdle_reader_setup& setup, Options& options, std::string& refusal) {
  const auto form_feed = choice(setup, "form_feed", {"true", "false"}, refusal);
  if (!form_feed) return false;
  const auto unended = choice(setup, "unended", {"aside", "record"}, refusal);
  if (!unended) return false;
  const auto continued = choice(setup, "continued", {"never", "indented"}, refusal);
  if (!continued) return false;
  const auto fold = choice(setup, "fold", {"none", "case", "space", "both"}, refusal);
  if (!fold) return false;
  options.form_feed = form_feed == 0u;
  options.unended_is_record = unended == 1u;
  options.continued = continued == 1u;
  options.fold = {fold == 1u || fold == 3u, fold == 2u || fold == 3u};
  return true;
}

bool read_lines(const girdle_reader_setup& setup, Options& options, std::string& refusal) {
  const std::string_view text = kit::option(setup, "lines");
  if (!text.empty()) {
    const auto [end, error] =
        std::from_chars(text.data(), text.data() + text.size(), options.lines);
    const bool whole = error == std::errc() && end == text.data() + text.size();
    if (!whole || options.lines > kMostLines) {
      refusal = "lines: must be a whole number up to " + std::to_string(kMostLines) +
                "; 0 where slips have no fixed number of lines";
      return false;
    }
  }
  if (options.lines == 0 || options.end.empty()) return true;
  refusal = "end, lines: a slip ends by one of them; say only one";
  return false;
}

bool read_patterns(const girdle_reader_setup& setup, Options& options, std::string& refusal) {
  auto labels = LabelRules::from(kit::option(setup, "labels"), refusal);
  if (!labels) return false;
  auto end = patterns("end", kit::option(setup, "end"), refusal);
  if (!end) return false;
  auto ignore = patterns("ignore", kit::option(setup, "ignore"), refusal);
  if (!ignore) return false;
  options.labels = std::move(*labels);
  options.end = std::move(*end);
  options.ignore = std::move(*ignore);
  return true;
}

uint64_t fingerprint_of(const girdle_reader_setup& setup) {
  kit::Fingerprint print;
  for (const char* name : {"labels", "end", "lines", "form_feed", "unended", "ignore", "continued",
                           "fold", "encoding"}) {
    print.add(kit::option(setup, name));
  }
  return print.value();
}

}  // namespace

std::optional<Options> Options::from(const girdle_reader_setup& setup, std::string& refusal) {
  Options options;
  if (!read_patterns(setup, options, refusal) || !read_choices(setup, options, refusal) ||
      !read_lines(setup, options, refusal)) {
    return std::nullopt;
  }
  auto encoding = columns::TextEncoding::from(setup, refusal);
  if (!encoding) return std::nullopt;
  options.encoding = *encoding;
  options.fingerprint = fingerprint_of(setup);
  return options;
}

}  // namespace girdle::labelled
