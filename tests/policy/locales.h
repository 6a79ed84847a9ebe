// Other people's locales, for tests that nothing looks at them: numbers, texts and dates have one
// form on every machine.
#pragma once

#include <gtest/gtest.h>
#include <stdlib.h>

#include <clocale>
#include <cstdio>
#include <functional>
#include <locale>
#include <sstream>
#include <string>

// The C library keeps a copy of LOCPATH whenever a locale is taken from there, and forgets it.
extern "C" [[gnu::used]] inline const char* __lsan_default_suppressions() { return "leak:argz_add_sep"; }

namespace girdle {

// 1.234.567,5 to streams, and to nothing else.
class CommaMark : public std::numpunct<char> {
  char do_decimal_point() const override { return ','; }
  char do_thousands_sep() const override { return '.'; }
  std::string do_grouping() const override { return "\3"; }
};

// The whole program in another locale, and back in the C locale at the end.
class InLocale {
 public:
  explicit InLocale(const std::locale& locale) { std::locale::global(locale); }
  InLocale(const InLocale&) = delete;
  InLocale& operator=(const InLocale&) = delete;
  ~InLocale() { std::locale::global(std::locale::classic()); }
};

// Of C and C++ both. `name` is one of those that the build makes from Debian's sources of locales.
inline bool has_locale(const char* name) {
  setenv("LOCPATH", GIRDLE_TEST_LOCALES, 1);
  const bool found = std::setlocale(LC_ALL, name) != nullptr;
  std::setlocale(LC_ALL, "C");
  return found;
}

inline std::string printed(const char* format, double number) {
  char text[64];
  std::snprintf(text, sizeof(text), format, number);
  return text;
}

inline std::string streamed(double number) {
  std::ostringstream stream;
  stream << number;
  return stream.str();
}

// The bytes of `work` are the same in every locale. That each locale is in force is checked too.
inline void expect_the_same_in_every_locale(const std::function<std::string()>& work) {
  const std::string expected = work();
  EXPECT_EQ(work(), expected) << "twice in the C locale";
  {
    const InLocale there(std::locale(std::locale::classic(), new CommaMark));
    ASSERT_EQ(streamed(1234.5), "1.234,5");
    EXPECT_EQ(work(), expected) << "where C++ streams have a decimal comma";
  }
  for (const char* name : {"de_DE.UTF-8", "tr_TR.UTF-8"}) {
    ASSERT_TRUE(has_locale(name))
        << name << " is not in " << GIRDLE_TEST_LOCALES
        << ": install Debian's package locales, then configure and build again";
    const InLocale there{std::locale(name)};
    ASSERT_EQ(printed("%.1f", 0.5), "0,5");
    ASSERT_EQ(streamed(1234.5), "1.234,5");
    EXPECT_EQ(work(), expected) << name;
  }
}

}  // namespace girdle
