// Documents through a reader into the ledger: what is remembered of them.
#include "service/intake_sink.h"

#include <gmock/gmock.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>

#include "service/rules_of.h"
#include "reading/mappings.h"
#include "service/temp_ledger.h"

namespace girdle::service {
namespace {

namespace asio = boost::asio;
using testing::HasSubstr;
using testing::Not;

asio::awaitable<void> take(IntakeSink& sink, const model::Document& document, const std::string& bytes) {
  sink.begin(document, {});
  co_await sink.feed(bytes);
  co_await sink.finish(true);
  model::FilePosition position;
  position.name = document.name;
  position.size = position.offset = bytes.size();
  co_await sink.commit(position, [](bool) {});
}

class IntakeSinkTest : public testing::Test {
 protected:
  IntakeSinkTest() { writer_.adopt(adoption_of({}, {}), nullptr); }

  // Lines, each the stock number of a declaration, through a reader that behaves as told.
  model::Document taken(const std::string& behaviour, const std::string& bytes) {
    model::Mapping mapping = reading::declaration_mapping();
    mapping.fields[0].from = {"text"};
    return taken(behaviour, bytes, std::move(mapping));
  }

  model::Document taken(const std::string& behaviour, const std::string& bytes, model::Mapping mapping) {
    auto reader = reading::Reader::open(reading::Catalogue::scan({GIRDLE_TEST_READERS}, nullptr),
                                        {.reader = "odd",
                                         .options = {{"behaviour", behaviour}},
                                         .mapping = std::move(mapping),
                                         .timezone = "Europe/Brussels"});
    EXPECT_TRUE(reader) << reader.error().text;
    model::Document document;
    document.name = behaviour + ".txt";
    document.digest = base::sha256(behaviour + bytes);
    document.size = bytes.size();
    lookups_ = *ledger::Ledger::read(temp_.path());
    sink_ = std::make_unique<IntakeSink>("lines", *reader, writer_, *lookups_, room_, loop_.get_executor(), log_);
    asio::co_spawn(loop_, take(*sink_, document, bytes), [](std::exception_ptr fault) { EXPECT_FALSE(fault); });
    loop_.restart();
    loop_.run();
    writer_.start();
    writer_.stop();
    return document;
  }

  bool is_complete(const model::Document& document) {
    return lookups_->knows_document(*lookups_->find_intake("lines"), document.digest);
  }

  asio::io_context loop_;
  TempLedger temp_;
  base::SystemClock clock_;
  base::Log log_ = base::Log::to_memory();
  Writer writer_{temp_.open(), clock_, base::Log::to_nowhere(), "quay-street", {}};
  Room room_{loop_.get_executor(), writer_};
  std::unique_ptr<ledger::Ledger> lookups_;
  std::unique_ptr<IntakeSink> sink_;
};

TEST_F(IntakeSinkTest, RemembersADocumentThatWasReadToItsEnd) {
  const model::Document document = taken("", "R1\nR2\n");
  EXPECT_TRUE(is_complete(document));
  EXPECT_EQ(lookups_->counts()->declarations, 2);
  EXPECT_EQ(lookups_->counts()->asides, 0);
  EXPECT_THAT(log_.text(), Not(HasSubstr("reader given up")));
}

// A list that is the same as one before says its claims anew; readings are not measured anew by a copy.
TEST_F(IntakeSinkTest, ReadsAStockListAgainThatComesAgain) {
  const model::Document document = taken("", "R1\nR2\n");
  EXPECT_FALSE(sink_->is_known(document.digest));
}

// A declaration for each line but those that say "H" or "L".
model::Mapping list_with_header_and_trailer() {
  model::Mapping list = reading::declaration_mapping();
  list.fields[0].from = {"text"};
  return reading::sections(
      {reading::ignored({{"text", {"H", "L"}}}, "header and trailer"), reading::section({}, list)});
}

TEST_F(IntakeSinkTest, CountsWhatTheMappingIgnores) {
  const model::Document document = taken("", "H\nR1\nR2\nL\n", list_with_header_and_trailer());
  EXPECT_EQ(writer_.counts().ignored, 2u);
  EXPECT_EQ(writer_.counts().declarations, 2u);
  EXPECT_EQ(lookups_->counts()->asides, 0);
  EXPECT_TRUE(is_complete(document));
  EXPECT_FALSE(sink_->is_known(document.digest)) << "it makes declarations, among others";
}

TEST_F(IntakeSinkTest, CountsNothingIgnoredOfBytesThatAreSetAside) {
  taken("backwards", "H\nR1\n", list_with_header_and_trailer());
  EXPECT_EQ(writer_.counts().ignored, 0u);
  EXPECT_EQ(lookups_->counts()->asides, 1);
}

// Whoever mends the reader can give it the same bytes again.
TEST_F(IntakeSinkTest, DoesNotCountADocumentAsKnownWhoseReaderWasGivenUp) {
  const model::Document document = taken("null_values", "R1\nR2\n");
  EXPECT_FALSE(is_complete(document));
  EXPECT_EQ(lookups_->counts()->declarations, 0);
  EXPECT_EQ(lookups_->counts()->asides, 1);
  EXPECT_THAT(log_.text(), HasSubstr("reader given up"));
}

}  // namespace
}  // namespace girdle::service
