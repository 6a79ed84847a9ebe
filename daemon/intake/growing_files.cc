#include "intake/growing_files.h"

#include <algorithm>
#include <cerrno>
#include <utility>

#include "intake/begun.h"

namespace girdle::intake {

namespace asio = boost::asio;

namespace {

constexpr size_t kPiece = 1 << 20;
constexpr size_t kFeedPiece = 256 << 10;
constexpr size_t kTail =
    4096;  // compared at each growth: the whole prefix would cost a pass over the file
constexpr size_t kMostOpen = 256;  // files kept open
constexpr std::chrono::milliseconds kSoon{20};

bool has_same_times(const model::FilePosition& known, const FileStatus& file) {
  return known.size == file.size && known.mtime_ns == file.mtime_ns &&
         known.ctime_ns == file.ctime_ns;
}

SteadyTime steady_now() { return std::chrono::steady_clock::now(); }

}  // namespace

GrowingFiles::GrowingFiles(FolderWork& work, uint64_t max_record_bytes)
    : work_(work), longest_piece_(std::max<uint64_t>(kPiece, 2 * max_record_bytes)) {}

GrowingFiles::Generation* GrowingFiles::find(const std::string& name) {
  const auto found = open_.find(name);
  return found == open_.end() ? nullptr : found->second.get();
}

bool GrowingFiles::has_news(const char* name) {
  FileStatus file;
  const int error = work_.files.status_at(work_.folder.get(), name, file);
  if (error != 0) return true;
  work_.newest_ctime_ns = std::max(work_.newest_ctime_ns, file.ctime_ns);
  if (const Generation* const open = find(name)) return open->seen != file;
  const auto known = work_.sink.position(name);
  if (file.kind != FileKind::kFile) return !FolderWork::is_told(known);
  // Also what has no news is kept open while there is room, so that its rest is there when it is
  // rotated away.
  return !known || !has_same_times(*known, file) || open_.size() < kMostOpen;
}

asio::awaitable<void> GrowingFiles::take(InHand& entry) {
  entry.complete = false;
  FileStatus file;
  const int error = work_.files.status_at(work_.folder.get(), entry.name.c_str(), file);
  if (error != 0 && error != ENOENT) work_.trouble(entry.name, "stat", error);
  Generation* open_now = find(entry.name);
  const bool is_gone = error == ENOENT || (error == 0 && file.kind != FileKind::kFile);
  if (open_now != nullptr && is_gone) co_await read_rest(retire(entry.name), false);
  if (error != 0) {
    work_.let_go(entry);
    co_return;
  }
  if (file.kind != FileKind::kFile) {
    if (FolderWork::is_told(work_.sink.position(entry.name))) {
      work_.let_go(entry);
    } else {
      co_await work_.set_aside_no_file(entry, file);
    }
    co_return;
  }
  if (open_now == nullptr) {
    open_now = open(entry, file);
  } else if (!open_now->opened.is_same_file(file)) {
    open_now = co_await follow(entry, file);
  }
  if (open_now != nullptr) co_await grow(entry, *open_now, file);
}

// A writer that adds line by line is not met line by line.
void GrowingFiles::on_event(InHand& entry, Happened) {
  if (entry.stage == InHand::Stage::kTaken) work_.names.wait(entry, steady_now() + kSoon);
}

Descriptor GrowingFiles::open_file(InHand& entry, const FileStatus& file) {
  Descriptor opened;
  const int error = work_.files.open_at(work_.folder.get(), entry.name.c_str(), opened);
  FileStatus now;
  if (error != 0 && error != ENOENT && error != ELOOP && error != ENXIO) {
    work_.trouble(entry.name, "open", error);
    work_.let_go(entry);
    return {};
  }
  if (error == 0 && work_.files.status(opened.get(), now) == 0 && now.is_same_file(file))
    return opened;
  // Something else stands there since it was looked at.
  if (work_.once || error == ENOENT) {
    work_.let_go(entry);
  } else {
    work_.names.wait(entry, steady_now() + kSoon);
  }
  return {};
}

GrowingFiles::Generation* GrowingFiles::open(InHand& entry, const FileStatus& file) {
  Generation* back = nullptr;
  if (reclaim(entry, file, back)) return back;
  Descriptor opened = open_file(entry, file);
  if (!opened) return nullptr;
  if (!make_room()) {
    work_.let_go(entry);
    return nullptr;
  }
  auto made = std::make_unique<Generation>();
  made->file = std::move(opened);
  made->opened = file;
  const auto known = work_.sink.position(entry.name);
  start_over(*made);
  if (known && known->offset > 0) {
    made->at = {known->offset, known->prefix, known->resume};
    made->is_verified = false;
    if (has_same_times(*known, file)) made->seen = file;
  }
  made->committed = made->at;
  return (open_[entry.name] = std::move(made)).get();
}

// A file that lost its name and has it again goes on where it was, once nothing of it is in flight.
bool GrowingFiles::reclaim(InHand& entry, const FileStatus& file, Generation*& out) {
  const auto found = std::find_if(retired_.begin(), retired_.end(), [&](const Retired& retired) {
    return retired.name == entry.name && retired.file->opened.is_same_file(file);
  });
  if (found == retired_.end()) return false;
  if (found->file->in_flight > 0) {
    work_.names.wait(entry, steady_now() + kSoon);
    return true;
  }
  found->file->seen = {};
  out = (open_[entry.name] = std::move(found->file)).get();
  retired_.erase(found);
  return true;
}

bool GrowingFiles::make_room() {
  if (open_.size() < kMostOpen) return true;
  auto oldest = open_.end();
  for (auto at = open_.begin(); at != open_.end(); ++at) {
    if (at->second->in_flight > 0) continue;
    if (oldest == open_.end() || at->second->used < oldest->second->used) oldest = at;
  }
  if (oldest == open_.end()) return false;
  open_.erase(oldest);  // where it stands is in the ledger
  return true;
}

void GrowingFiles::start_over(Generation& file) {
  file.at = {0, base::sha256(""), ""};
  file.hash = base::Sha256();
  file.tail.clear();
  file.seen = {};
  file.is_verified = true;
  file.takes_all = false;
  file.piece = kPiece;
}

asio::awaitable<GrowingFiles::Generation*> GrowingFiles::follow(InHand& entry,
                                                                const FileStatus& file) {
  Descriptor fresh = open_file(entry, file);
  if (!fresh) co_return nullptr;
  Generation& old = *find(entry.name);
  base::Sha256 hash;
  bool is_same = false;
  if (old.at.offset > 0 && file.size >= old.at.offset) {
    const int error = co_await digest_of(fresh.get(), old.at.offset, hash);
    is_same = error == 0 && hash.so_far() == old.at.prefix;
  }
  if (is_same) {
    // A program that rewrites the whole file under another name and moves it here: what was added
    // is new, no more.
    old.file = std::move(fresh);
    old.opened = file;
    old.seen = {};
    old.hash = std::move(hash);
    old.is_verified = read_tail(old, old.tail) == 0;
    co_return &old;
  }
  co_await read_rest(retire(entry.name), false);
  auto made = std::make_unique<Generation>();
  made->file = std::move(fresh);
  made->opened = file;
  start_over(*made);
  made->committed = made->at;
  co_return (open_[entry.name] = std::move(made)).get();
}

asio::awaitable<bool> GrowingFiles::check_prefix(const std::string& name, Generation& file,
                                                 const FileStatus& now) {
  if (std::exchange(file.failed, false)) {
    file.at = file.committed;
    file.is_verified = false;
    file.seen = {};
  }
  if (now.size < file.at.offset) start_over(file);
  if (file.at.offset == 0) {
    if (!file.is_verified) start_over(file);
    co_return true;
  }
  const bool is_rewritten = now.size <= file.seen.size && now.ctime_ns != file.seen.ctime_ns;
  if (!file.is_verified || is_rewritten) co_return co_await verify(name, file);
  std::string tail;
  const int error = read_tail(file, tail);
  if (error != 0) work_.trouble(name, "read", error);
  if (error == 0 && tail != file.tail) start_over(file);
  co_return error == 0;
}

asio::awaitable<bool> GrowingFiles::verify(const std::string& name, Generation& file) {
  base::Sha256 hash;
  int error = co_await digest_of(file.file.get(), file.at.offset, hash);
  const bool is_same = error == 0 && hash.so_far() == file.at.prefix;
  if (error == 0 && is_same) error = read_tail(file, file.tail);
  if (error != 0 && error != ENODATA) {
    work_.trouble(name, "read", error);
    co_return false;
  }
  if (is_same) {
    file.hash = std::move(hash);
    file.is_verified = true;
  } else {
    start_over(file);
  }
  co_return true;
}

asio::awaitable<int> GrowingFiles::digest_of(int file, uint64_t length, base::Sha256& hash) {
  hash = base::Sha256();
  buffer_.resize(std::max(buffer_.size(), kPiece));
  for (uint64_t offset = 0; offset < length;) {
    size_t got = 0;
    const size_t want = std::min<uint64_t>(kPiece, length - offset);
    const int error = work_.files.read_at(file, std::span(buffer_.data(), want), offset, got);
    if (error != 0) co_return error;
    if (got != want) co_return ENODATA;
    hash.update({buffer_.data(), got});
    offset += got;
    if (offset < length) co_await work_.yield();
  }
  co_return 0;
}

int GrowingFiles::read_tail(const Generation& file, std::string& tail) {
  tail.resize(std::min<uint64_t>(kTail, file.at.offset));
  size_t got = 0;
  const int error = work_.files.read_at(file.file.get(), std::span(tail.data(), tail.size()),
                                        file.at.offset - tail.size(), got);
  tail.resize(got);
  return error;
}

asio::awaitable<void> GrowingFiles::grow(InHand& entry, Generation& file, const FileStatus& now) {
  file.used = steady_now();
  if (file.seen == now && !file.failed) {
    work_.let_go(entry);
    co_return;
  }
  if (!co_await check_prefix(entry.name, file, now)) {
    work_.let_go(entry);
    co_return;
  }
  std::string_view bytes;
  const int error = read_piece(file, now.size, bytes);
  if (error != 0) {
    work_.trouble(entry.name, "read", error);
    work_.let_go(entry);
    co_return;
  }
  work_.no_trouble(entry.name);
  if (bytes.empty()) {
    file.seen = now;
    co_await move_times(entry, file, now);
    co_return;
  }
  const bool at_end = file.at.offset + bytes.size() >= now.size;
  if (co_await hand_over(entry.name, file, now, {bytes, file.takes_all, at_end}, &entry)) co_return;
  if (at_end) {
    file.seen = now;  // a half-written line: it waits for its end
  } else {
    lengthen(file);
    entry.again = true;
  }
  work_.let_go(entry);
}

asio::awaitable<void> GrowingFiles::move_times(InHand& entry, const Generation& file,
                                               const FileStatus& now) {
  const auto known = work_.sink.position(entry.name);
  if (!known || known->offset != file.at.offset || known->prefix != file.at.prefix ||
      has_same_times(*known, now)) {
    work_.let_go(entry);
    co_return;
  }
  model::FilePosition position = *known;
  position.size = now.size;
  position.mtime_ns = now.mtime_ns;
  position.ctime_ns = now.ctime_ns;
  work_.names.fly(entry);
  co_await work_.sink.move_position(
      std::move(position), [this, &entry](bool committed) { work_.landed(entry, committed); });
}

int GrowingFiles::read_piece(const Generation& file, uint64_t end, std::string_view& bytes) {
  const size_t want = std::min(file.piece, end - std::min(end, file.at.offset));
  buffer_.resize(std::max(buffer_.size(), want));
  size_t got = 0;
  const int error =
      work_.files.read_at(file.file.get(), std::span(buffer_.data(), want), file.at.offset, got);
  bytes = {buffer_.data(), got};
  return error;
}

asio::awaitable<bool> GrowingFiles::hand_over(const std::string& name, Generation& file,
                                              const FileStatus& now, Piece piece, InHand* entry) {
  model::Document document = work_.document(name, now);
  document.digest = base::sha256(piece.bytes);
  document.offset = file.at.offset;
  document.size = piece.bytes.size();
  Begun begun(work_.sink, work_.status);
  work_.sink.begin(document, file.at.resume);
  for (size_t from = 0; from < piece.bytes.size(); from += kFeedPiece) {
    co_await work_.sink.feed(piece.bytes.substr(from, kFeedPiece));
    if (from + kFeedPiece < piece.bytes.size()) co_await work_.yield();
  }
  Sink::Read read = co_await work_.sink.finish(piece.whole);
  const uint64_t taken = piece.whole ? piece.bytes.size() : read.consumed;
  if (taken == 0) co_return false;
  advance(file, piece.bytes.substr(0, taken), std::move(read.resume));
  work_.count_document(taken);
  if (entry == nullptr) {
    co_await work_.sink.commit(std::nullopt, done(file));
  } else {
    model::FilePosition position = position_of(name, file, now, piece.at_end);
    co_await work_.sink.commit(std::move(position), done(*entry, file, now, piece.at_end));
  }
  begun.committed();
  co_return true;
}

model::FilePosition GrowingFiles::position_of(const std::string& name, const Generation& file,
                                              const FileStatus& now, bool at_end) const {
  model::FilePosition position = work_.position(name, now);
  position.offset = file.at.offset;
  position.prefix = file.at.prefix;
  position.resume = file.at.resume;
  // Times of which there are none: after a restart it is looked at again, and the next piece read.
  if (!at_end) position.mtime_ns = position.ctime_ns = 0;
  return position;
}

Sink::Done GrowingFiles::done(Generation& file) {
  ++file.in_flight;
  return [this, &file](bool committed) { on_done(file, committed); };
}

Sink::Done GrowingFiles::done(InHand& entry, Generation& file, const FileStatus& now, bool at_end) {
  ++file.in_flight;
  unfinished_ += at_end ? 0 : 1;
  file.seen = at_end ? now : FileStatus();
  entry.again = entry.again || !at_end;
  work_.names.fly(entry);
  return [this, &entry, &file, at_end](bool committed) {
    unfinished_ -= at_end ? 0 : 1;
    on_done(file, committed);
    work_.landed(entry, committed);
  };
}

void GrowingFiles::advance(Generation& file, std::string_view taken, std::string resume) {
  file.hash.update(taken);
  file.at.offset += taken.size();
  file.at.prefix = file.hash.so_far();
  file.at.resume = std::move(resume);
  file.tail.append(taken.substr(taken.size() - std::min(taken.size(), kTail)));
  if (file.tail.size() > kTail) file.tail.erase(0, file.tail.size() - kTail);
  file.takes_all = false;
  file.piece = kPiece;
}

void GrowingFiles::lengthen(Generation& file) const {
  if (file.piece >= longest_piece_) {
    file.takes_all = true;
  } else {
    file.piece = std::min(2 * file.piece, longest_piece_);
  }
}

void GrowingFiles::on_done(Generation& file, bool committed) {
  --file.in_flight;
  if (!committed) {
    file.failed = true;
    file.seen = {};
  }
  if (file.in_flight == 0 && !file.failed) file.committed = file.at;
}

GrowingFiles::Retired& GrowingFiles::retire(const std::string& name) {
  const auto found = open_.find(name);
  Retired& retired = retired_.emplace_back();
  retired.name = name;
  retired.file = std::move(found->second);
  retired.still_since = retired.due = steady_now();
  open_.erase(found);
  return retired;
}

asio::awaitable<void> GrowingFiles::read_rest(Retired& retired, bool whole) {
  Generation& file = *retired.file;
  FileStatus now;
  const int error = work_.files.status(file.file.get(), now);
  if (error != 0) co_return;
  const bool is_readable = co_await check_prefix(retired.name, file, now);
  if (!is_readable) co_return;
  retired.size = now.size;
  for (;;) {
    std::string_view bytes;
    if (read_piece(file, now.size, bytes) != 0 || bytes.empty()) co_return;
    const bool at_end = file.at.offset + bytes.size() >= now.size;
    const bool as_it_is = file.takes_all || (whole && at_end);
    if (co_await hand_over(retired.name, file, now, {bytes, as_it_is, at_end}, nullptr)) continue;
    if (at_end) co_return;
    lengthen(file);
  }
}

SteadyTime GrowingFiles::next_due() const {
  SteadyTime due = SteadyTime::max();
  for (const Retired& retired : retired_) due = std::min(due, retired.due);
  return due;
}

asio::awaitable<void> GrowingFiles::tend() {
  const SteadyTime now = steady_now();
  for (auto at = retired_.begin(); at != retired_.end();) {
    bool goes_on = true;
    if (at->due <= now) goes_on = co_await tend(*at);
    at = goes_on ? std::next(at) : retired_.erase(at);
  }
}

// Its writer may go on for a while in the file that lost its name, so that a last line without its
// end is taken only when the file has stood still, and the file is kept open for the time between
// two scans.
asio::awaitable<bool> GrowingFiles::tend(Retired& retired) {
  Generation& file = *retired.file;
  const SteadyTime now = steady_now();
  retired.due = now + std::max<SteadyTime::duration>(work_.settings.settle, kSoon);
  if (file.in_flight > 0) co_return true;
  FileStatus status;
  const int error = work_.files.status(file.file.get(), status);
  if (error != 0) work_.trouble(retired.name, "stat", error);
  if (error != 0) co_return true;
  if (status.size != retired.size || file.failed) {
    retired.still_since = now;
    co_await read_rest(retired, false);
  } else if (file.at.offset < status.size && now - retired.still_since >= work_.settings.settle) {
    co_await read_rest(retired, true);
  } else if (file.at.offset >= status.size &&
             now - retired.still_since >= work_.settings.scan_every) {
    co_return false;
  }
  co_return true;
}

void GrowingFiles::after_scan() {
  for (const auto& [name, file] : open_) {
    FileStatus now;
    if (work_.names.find(name) != nullptr) continue;
    if (work_.files.status_at(work_.folder.get(), name.c_str(), now) != ENOENT) continue;
    work_.names.make_ready(work_.names.take(name));
  }
}

void GrowingFiles::folder_lost() {
  while (!open_.empty()) retire(open_.begin()->first);
}

}  // namespace girdle::intake
