#include "reading/library_carrier.h"

namespace girdle::reading {
namespace {

class LibraryCarrier final : public Carrier {
 public:
  LibraryCarrier(const girdle_reader_descriptor& descriptor, girdle_reader* reader)
      : descriptor_(descriptor), reader_(reader) {}
  ~LibraryCarrier() override { descriptor_.destroy(reader_); }

  void feed(std::string_view bytes) override {
    answer_.status = descriptor_.feed(reader_, bytes.data(), bytes.size());
  }
  void end(bool whole) override {
    if (answer_.status != GIRDLE_OK) return;
    if (whole) answer_.status = descriptor_.finish(reader_);
    ended_ = true;
  }

  std::optional<Wait> step() override { return std::nullopt; }
  const Answer& answer() override {
    if (answer_.status != GIRDLE_OK) return answer_;
    answer_.consumed = descriptor_.consumed(reader_);
    if (ended_) answer_.saved = descriptor_.save(reader_, &answer_.state);
    return answer_;
  }
  bool refused() const override { return false; }
  std::string failure() override { return {}; }
  std::string trouble() const override { return {}; }
  void give_up() override {}

 private:
  const girdle_reader_descriptor& descriptor_;
  girdle_reader* const reader_;
  bool ended_ = false;
  Answer answer_;
};

class LibraryCarriage final : public Carriage {
 public:
  explicit LibraryCarriage(Library library) : library_(std::move(library)) {}

  std::unique_ptr<Carrier> begin(const girdle_reader_host& host,
                                 const girdle_reader_setup& setup) override {
    const girdle_reader_descriptor& descriptor = library_.descriptor();
    girdle_reader* const reader = descriptor.create(&host, &setup);
    if (reader == nullptr) return nullptr;
    return std::make_unique<LibraryCarrier>(descriptor, reader);
  }

  bool is_isolated() const override { return false; }
  base::Result<void> try_start() override { return {}; }
  void warm_up() override {}
  void shut_down() override {}
  ReaderNews take_news() override { return {}; }

 private:
  Library library_;
};

}  // namespace

std::unique_ptr<Carriage> carry_in_process(Library library) {
  return std::make_unique<LibraryCarriage>(std::move(library));
}

}  // namespace girdle::reading
