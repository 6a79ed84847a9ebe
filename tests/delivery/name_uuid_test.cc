#include "delivery/name_uuid.h"

#include <gtest/gtest.h>

namespace girdle::delivery {
namespace {

// RFC 9562 6.6: the name spaces of DNS names and URLs.
constexpr Uuid kDns = {0x6b, 0xa7, 0xb8, 0x10, 0x9d, 0xad, 0x11, 0xd1,
                       0x80, 0xb4, 0x00, 0xc0, 0x4f, 0xd4, 0x30, 0xc8};
constexpr Uuid kUrl = {0x6b, 0xa7, 0xb8, 0x11, 0x9d, 0xad, 0x11, 0xd1,
                       0x80, 0xb4, 0x00, 0xc0, 0x4f, 0xd4, 0x30, 0xc8};

TEST(NameUuid, IsTheExampleOfTheStandard) {
  // RFC 9562 A.4.
  EXPECT_EQ(name_uuid(kDns, "www.example.com"), "2ed6657d-e927-568b-95e1-2665a8aea6a2");
}

TEST(NameUuid, IsWhatPythonMakesOfTheSameNames) {
  // uuid.uuid5 of Python 3.11.
  EXPECT_EQ(name_uuid(kUrl, "http://www.example.com/"), "fcde3c85-2270-590f-9e7c-ee003d65e0e2");
  EXPECT_EQ(name_uuid(kDns, ""), "4ebd0208-8328-5d69-8c44-ec50939c0967");
}

}  // namespace
}  // namespace girdle::delivery
