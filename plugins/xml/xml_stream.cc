#include "xml/xml_stream.h"

#include <algorithm>

namespace girdle::xml {

namespace {

constexpr size_t kBlock = 8192;  // bytes decoded at a time

}  // namespace

XmlStream::XmlStream(const CutterSettings& settings, ElementListener& listener)
    : cutter_(settings, listener),
      listener_(listener),
      most_head_(std::min<uint64_t>(kMostHead, kHeldRecords * settings.limit)) {}

void XmlStream::feed(std::string_view bytes) {
  fed_ += bytes.size();
  if (source_) {
    take(bytes);
  } else {
    take_head(bytes, false);
  }
  cutter_.set_rest_aside(fed_, false);
}

void XmlStream::finish() {
  if (!source_) take_head({}, true);
  text_.clear();
  source_->finish(text_);
  cutter_.take(text_);
  cutter_.finish(fed_);
}

void XmlStream::take_head(std::string_view bytes, bool whole) {
  const size_t wanted = std::min(bytes.size(), most_head_ - head_.size());
  head_.append(bytes.substr(0, wanted));
  const DocumentHead head = document_head(head_, whole || head_.size() == most_head_);
  if (!head.known) return;
  source_.emplace(head.encoding);
  if (!head.fault.empty()) {
    cutter_.break_off(head.fault);
    return;
  }
  TextSource declaration(head.encoding);
  text_.clear();
  declaration.decode(std::string_view(head_).substr(head.mark, head.size - head.mark), text_);
  cutter_.begin(head.encoding, head.size, text_);
  take(std::string_view(head_).substr(head.size));
  take(bytes.substr(wanted));
  head_.clear();
}

void XmlStream::take(std::string_view bytes) {
  if (is_plain(source_->encoding())) {
    cutter_.take(bytes);
    return;
  }
  while (!bytes.empty() && !listener_.stopped() && !cutter_.broken_off()) {
    text_.clear();
    source_->decode(bytes.substr(0, kBlock), text_);
    cutter_.take(text_);
    bytes.remove_prefix(std::min(bytes.size(), kBlock));
  }
}

void XmlStream::save(kit::StateWriter& state) const {
  state.number(static_cast<uint64_t>(source_->encoding()));
  cutter_.save(state);
}

void XmlStream::take_up(kit::StateParser& state) {
  source_.emplace(static_cast<Encoding>(state.number(static_cast<uint64_t>(Encoding::kUtf16Be))));
  cutter_.take_up(state, source_->encoding());
}

}  // namespace girdle::xml
