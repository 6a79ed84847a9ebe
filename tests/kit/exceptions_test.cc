// What a C++ class does never reaches its host as an exception: girdle/reader.hpp is the edge.
#include <gmock/gmock.h>

#include <girdle/reader.hpp>
#include <new>
#include <stdexcept>
#include <string>

namespace girdle::kit {
namespace {

using testing::HasSubstr;

// Throws in the function that its option `in` names, what its option `what` names.
class Thrower {
 public:
  static std::unique_ptr<Thrower> create(const girdle_reader_host&,
                                         const girdle_reader_setup& setup, std::string& refusal) {
    auto reader = std::make_unique<Thrower>();
    reader->in_ = option(setup, "in");
    reader->what_ = option(setup, "what");
    if (reader->in_ == "nothing") {
      refusal = "no such thing";
      return nullptr;
    }
    reader->throw_in("create");
    return reader;
  }
  girdle_status feed(std::string_view bytes) {
    throw_in("feed");
    fed_ += bytes.size();
    return GIRDLE_OK;
  }
  girdle_status finish() {
    throw_in("finish");
    return GIRDLE_OK;
  }
  uint64_t consumed() const {
    throw_in("consumed");
    return fed_;
  }
  std::string_view save() {
    throw_in("save");
    return "state";
  }
  ~Thrower() { ++ended; }

  static int ended;

 private:
  void throw_in(std::string_view function) const {
    if (function != in_) return;
    if (what_ == "number") throw 7;
    if (what_ == "memory") throw std::bad_alloc();
    if (what_ == "lines") throw std::runtime_error("it broke\r\nat offset 7");
    if (what_ == "nothing") throw std::runtime_error("");
    throw std::runtime_error("it broke");
  }
  std::string in_, what_;
  uint64_t fed_ = 0;
};
int Thrower::ended = 0;

constexpr girdle_reader_descriptor kThrower = describe<Thrower>("thrower", "0.1.0");

std::string refusal;
void on_refuse(const girdle_reader_host*, girdle_text reason) { refusal = view(reason); }
constexpr girdle_reader_host kHost = {
    sizeof(girdle_reader_host), GIRDLE_READER_ABI, nullptr, nullptr, nullptr, on_refuse, nullptr};

girdle_reader* create(std::string_view in, std::string_view what) {
  const girdle_option options[] = {{lend("in"), lend(in)}, {lend("what"), lend(what)}};
  const girdle_reader_setup setup = {sizeof setup, 0, 1000, 10, 2, options, {}};
  refusal.clear();
  return kThrower.create(&kHost, &setup);
}

TEST(Exceptions, InCreateAreARefusal) {
  EXPECT_EQ(create("create", "text"), nullptr);
  EXPECT_EQ(refusal, "it broke");
  EXPECT_EQ(create("create", "memory"), nullptr);
  EXPECT_THAT(refusal, HasSubstr("bad_alloc"));
  EXPECT_EQ(create("create", "number"), nullptr);
  EXPECT_EQ(refusal, "the reader fails, and cannot say why");
  EXPECT_EQ(create("create", "lines"), nullptr);
  EXPECT_EQ(refusal, "it broke\\x0d\\x0aat offset 7");  // a reason is one line
  EXPECT_EQ(create("create", "nothing"), nullptr);
  EXPECT_EQ(refusal, "the reader fails, and cannot say why");
  EXPECT_EQ(create("nothing", ""), nullptr);
  EXPECT_EQ(refusal, "no such thing");
}

TEST(Exceptions, InCallsAreAFailureFromThenOn) {
  for (const char* what : {"text", "memory", "number"}) {
    for (const std::string in : {"feed", "finish", "save", "consumed"}) {
      girdle_reader* const reader = create(in, what);
      ASSERT_NE(reader, nullptr);
      girdle_text state{};
      EXPECT_EQ(kThrower.feed(reader, "ab", 2), in == "feed" ? GIRDLE_FAILED : GIRDLE_OK);
      kThrower.consumed(reader);
      if (in == "save") {
        EXPECT_EQ(kThrower.save(reader, &state), GIRDLE_FAILED);
      }
      if (in == "finish") {
        EXPECT_EQ(kThrower.finish(reader), GIRDLE_FAILED);
      }
      // Nothing of the class is called any more but its destructor.
      EXPECT_EQ(kThrower.feed(reader, "ab", 2), GIRDLE_FAILED) << in;
      EXPECT_EQ(kThrower.finish(reader), GIRDLE_FAILED) << in;
      EXPECT_EQ(kThrower.save(reader, &state), GIRDLE_FAILED) << in;
      EXPECT_LE(kThrower.consumed(reader), 2u);
      const int before = Thrower::ended;
      kThrower.destroy(reader);
      EXPECT_EQ(Thrower::ended, before + 1);
    }
  }
}

TEST(Exceptions, AreNotThereWhereNothingThrows) {
  girdle_reader* const reader = create("", "");
  ASSERT_NE(reader, nullptr);
  EXPECT_EQ(kThrower.feed(reader, "abc", 3), GIRDLE_OK);
  EXPECT_EQ(kThrower.feed(reader, nullptr, 0), GIRDLE_OK);
  EXPECT_EQ(kThrower.consumed(reader), 3u);
  girdle_text state{};
  EXPECT_EQ(kThrower.save(reader, &state), GIRDLE_OK);
  EXPECT_EQ(view(state), "state");
  EXPECT_EQ(kThrower.finish(reader), GIRDLE_OK);
  EXPECT_EQ(kThrower.extension("nobody.has-this/1"), nullptr);
  kThrower.destroy(reader);
}

// Only what has all that a reader needs is one: told where it is used, not somewhere below.
struct WithoutSave {
  static std::unique_ptr<WithoutSave> create(const girdle_reader_host&, const girdle_reader_setup&,
                                             std::string&);
  girdle_status feed(std::string_view);
  girdle_status finish();
  uint64_t consumed() const;
};
static_assert(Reader<Thrower>);
static_assert(!Reader<WithoutSave>);

}  // namespace
}  // namespace girdle::kit
