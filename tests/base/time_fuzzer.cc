// Times: no text breaks a form, and what is read is written and read again as the same instant.
#include <cstdlib>

#include "base/time.h"

using namespace girdle::base;

// The first byte chooses the form; the rest is the text.
extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  static const char* const kForms[] = {
      "rfc3339", "unix", "unix_ms", "%d.%m.%Y %H:%M:%S", "%F %T%z", "%e %b %y %I:%M %p", "%Y-%j"};
  static const Zone kZone = *Zone::find("Europe/Brussels");
  if (size == 0) return 0;
  const std::string_view text(reinterpret_cast<const char*>(data) + 1, size - 1);
  const auto form = TimeForm::compile(kForms[data[0] % std::size(kForms)]);
  if (!form) std::abort();
  const auto instant = form->parse(text, kZone, TwiceRule::kEarlier);
  if (instant) {
    if (parse_rfc3339(format_rfc3339(*instant)) != *instant) std::abort();
    std::string again;
    if (TimeForm::compile("rfc3339")->append(again, *instant, kZone) &&
        parse_rfc3339(again) != *instant)
      std::abort();
    again.clear();
    static_cast<void>(form->append(again, *instant, kZone));
  }
  static_cast<void>(parse_duration(text));
  // Any text may be offered as a form.
  if (const auto other = TimeForm::compile(text)) {
    static_cast<void>(other->parse("02.11.2026 10:15:30", kZone, TwiceRule::kRefuse));
    std::string written;
    if (!other->append(written, from_millis(1793614530250), kZone)) std::abort();
  }
  return 0;
}
