#include "intake/whole_files.h"

#include <algorithm>
#include <cerrno>
#include <utility>

#include "intake/begun.h"

namespace girdle::intake {

namespace asio = boost::asio;

namespace {

constexpr size_t kSmall = 1 << 20;        // read once, and handed over in one piece
constexpr size_t kFeedPiece = 256 << 10;  // of a larger one
constexpr std::chrono::milliseconds kCoarseTimes{2100};
constexpr std::chrono::milliseconds kClockStep{
    10};  // the kernel stamps files with a clock that lags by a tick

bool has_same_times(const model::FilePosition& known, const FileStatus& file) {
  return known.size == file.size && known.mtime_ns == file.mtime_ns &&
         known.ctime_ns == file.ctime_ns;
}

// On file systems that count whole seconds a second write can leave no trace.
bool has_coarse_times(const FileStatus& file) {
  return file.mtime_ns % 1'000'000'000 == 0 && file.ctime_ns % 1'000'000'000 == 0;
}

std::string too_large_text(uint64_t size, uint64_t limit) {
  return "the file has " + std::to_string(size) + " bytes and this intake's max_bytes is " +
         std::to_string(limit) +
         ": it was not read; raise max_bytes, or let the instrument export in smaller files";
}

}  // namespace

std::optional<WholeFiles::Look> WholeFiles::look(const char* name, bool even_if_same, int& error) {
  Look look;
  error = work_.files.status_at(work_.folder.get(), name, look.file);
  if (error != 0) return std::nullopt;
  work_.newest_ctime_ns = std::max(work_.newest_ctime_ns, look.file.ctime_ns);
  look.known = work_.sink.position(name);
  if (look.file.kind != FileKind::kFile) {
    // Our own folder for what was taken in, also when it is not used any more.
    if (look.file.kind == FileKind::kFolder && std::string_view(name) == DoneFolder::kName)
      return std::nullopt;
    if (FolderWork::is_told(look.known)) return std::nullopt;
    return look;
  }
  if (look.known && has_same_times(*look.known, look.file) && !even_if_same &&
      !work_.settings.move_done) {
    return std::nullopt;
  }
  return look;
}

bool WholeFiles::has_news(const char* name) {
  int error = 0;
  scanned_ = look(name, false, error);
  return scanned_ || (error != 0 && error != ENOENT);
}

asio::awaitable<void> WholeFiles::take(InHand& entry) {
  const bool complete = std::exchange(entry.complete, false);
  int error = 0;
  std::optional<Look> found = std::exchange(scanned_, std::nullopt);
  if (!found) found = look(entry.name.c_str(), complete || entry.verify, error);
  if (error != 0 && error != ENOENT) work_.trouble(entry.name, "stat", error);
  if (!found) {
    work_.let_go(entry);
    co_return;
  }
  if (found->file.kind != FileKind::kFile) {
    co_await work_.set_aside_no_file(entry, found->file);
  } else if (!waits_or_is_done(entry, *found, complete)) {
    co_await read(entry, *found);
  }
}

bool WholeFiles::waits_or_is_done(InHand& entry, const Look& look, bool complete) {
  const bool same_times = look.known && has_same_times(*look.known, look.file);
  const bool is_too_large = look.file.size > work_.settings.max_bytes;
  if (same_times && (is_too_large || (!entry.verify && !work_.is_fresh(look.file)))) {
    // Taken in before, and perhaps not moved then; or set aside.
    if (look.known->offset == look.file.size) done_.move_away(entry.name, look.file);
    work_.let_go(entry);
    return true;
  }
  if (same_times || is_ready(entry, look.file, complete)) return false;
  wait_until_still(entry, look.file);
  return true;
}

asio::awaitable<void> WholeFiles::read(InHand& entry, const Look& look) {
  const FileStatus& file = look.file;
  if (file.size > work_.settings.max_bytes) {
    co_await work_.set_aside_unread(entry, file,
                                    too_large_text(file.size, work_.settings.max_bytes),
                                    work_.position(entry.name, file));
    co_return;
  }
  Descriptor opened;
  const int error = work_.files.open_at(work_.folder.get(), entry.name.c_str(), opened);
  if (error != 0) {
    on_open_error(entry, error);
  } else if (file.size <= kSmall) {
    co_await read_small(entry, look, opened.get());
  } else {
    co_await read_large(entry, look, opened.get());
  }
}

void WholeFiles::on_event(InHand& entry, Happened happened) {
  if (happened == Happened::kComplete) {
    entry.complete = true;
    work_.names.make_ready(entry);
  } else if (entry.stage == InHand::Stage::kTaken) {
    // A name that is new: a hard link, or a file whose writer is at work.
    wait_until_still(entry, {});
  }
}

bool WholeFiles::is_ready(InHand& entry, const FileStatus& file, bool complete) const {
  if (work_.once || work_.is_quiet(file)) return true;
  // `seen` was set when the wait of `settle` began.
  return (complete && file.size > 0) || entry.seen == file;
}

void WholeFiles::wait_until_still(InHand& entry, const FileStatus& file) {
  entry.seen = file;
  work_.names.wait(entry, std::chrono::steady_clock::now() + work_.settings.settle + kClockStep);
}

void WholeFiles::on_change(InHand& entry) {
  if (work_.once) {
    work_.log.debug("a file changes while it is read; left for the next time",
                    {{"intake", work_.intake}, {"file", entry.name}});
    work_.names.drop(entry);
  } else {
    wait_until_still(entry, {});
  }
}

void WholeFiles::on_open_error(InHand& entry, int error) {
  if (error == ENOENT) {
    work_.let_go(entry);
  } else if (error == ELOOP || error == ENXIO) {
    on_change(entry);  // something else stands there since it was looked at
  } else {
    work_.trouble(entry.name, "open", error);
    work_.let_go(entry);
  }
}

bool WholeFiles::is_unchanged(const FileStatus& as, int file) {
  FileStatus now;
  return work_.files.status(file, now) == 0 && now == as;
}

asio::awaitable<void> WholeFiles::read_small(InHand& entry, const Look& look, int file) {
  // One byte more than there should be: the read then also tells where the file ends.
  if (buffer_.size() <= look.file.size)
    buffer_.resize(std::min(kSmall + 1, std::max<size_t>(2 * look.file.size, 65536)));
  size_t got = 0;
  const int error =
      work_.files.read_at(file, std::span(buffer_.data(), look.file.size + 1), 0, got);
  if (error != 0) {
    work_.trouble(entry.name, "read", error);
    work_.let_go(entry);
    co_return;
  }
  if (got != look.file.size || !is_unchanged(look.file, file)) {
    on_change(entry);
    co_return;
  }
  const std::string_view bytes(buffer_.data(), got);
  hash_.update(bytes);
  const base::Digest digest = hash_.finish();
  if (co_await is_known(entry, look, digest)) co_return;
  Begun begun(work_.sink, work_.status);
  begin(entry, look.file, digest);
  co_await work_.sink.feed(bytes);
  co_await work_.sink.finish(true);
  co_await commit(entry, look.file, digest);
  begun.committed();
}

asio::awaitable<void> WholeFiles::read_large(InHand& entry, const Look& look, int file) {
  buffer_.resize(kSmall + 1);
  base::Digest digest;
  if (!co_await digest_large(entry, look.file, file, digest)) co_return;
  if (co_await is_known(entry, look, digest)) co_return;
  Begun begun(work_.sink, work_.status);
  begin(entry, look.file, digest);
  base::Digest fed;
  if (!co_await feed_large(entry, look.file, file, fed)) co_return;
  if (fed != digest) {
    on_change(entry);
    co_return;
  }
  co_await work_.sink.finish(true);
  co_await commit(entry, look.file, digest);
  begun.committed();
}

asio::awaitable<bool> WholeFiles::digest_large(InHand& entry, const FileStatus& as, int file,
                                               base::Digest& out) {
  base::Sha256 hash;
  for (uint64_t offset = 0; offset < as.size;) {
    size_t got = 0;
    const size_t want = std::min<uint64_t>(kSmall, as.size - offset);
    const int error = work_.files.read_at(file, std::span(buffer_.data(), want), offset, got);
    if (error != 0) {
      work_.trouble(entry.name, "read", error);
      work_.let_go(entry);
      co_return false;
    }
    if (got != want) {
      on_change(entry);
      co_return false;
    }
    hash.update({buffer_.data(), got});
    offset += got;
    co_await work_.yield();
  }
  if (!is_unchanged(as, file)) {
    on_change(entry);
    co_return false;
  }
  out = hash.finish();
  co_return true;
}

asio::awaitable<bool> WholeFiles::feed_large(InHand& entry, const FileStatus& as, int file,
                                             base::Digest& out) {
  base::Sha256 hash;
  for (uint64_t offset = 0; offset < as.size;) {
    size_t got = 0;
    const size_t want = std::min<uint64_t>(kFeedPiece, as.size - offset);
    const int error = work_.files.read_at(file, std::span(buffer_.data(), want), offset, got);
    if (error != 0) {
      work_.trouble(entry.name, "read", error);
      work_.let_go(entry);
      co_return false;
    }
    if (got != want) {
      on_change(entry);
      co_return false;
    }
    hash.update({buffer_.data(), got});
    co_await work_.sink.feed({buffer_.data(), got});
    offset += got;
    co_await work_.yield();
  }
  out = hash.finish();
  co_return true;
}

asio::awaitable<bool> WholeFiles::is_known(InHand& entry, const Look& look,
                                           const base::Digest& digest) {
  work_.no_trouble(entry.name);
  const bool is_same =
      look.known && look.known->offset == look.file.size && look.known->prefix == digest;
  if (is_same && has_same_times(*look.known, look.file)) {
    done_.move_away(entry.name, look.file);
    work_.let_go(entry);
    co_return true;
  }
  if (!is_same && !work_.sink.is_known(digest)) co_return false;
  ++work_.status.known;
  fly(entry, look.file);
  co_await work_.sink.move_position(position(entry, look.file, digest), done(entry));
  co_return true;
}

void WholeFiles::begin(InHand& entry, const FileStatus& file, const base::Digest& digest) {
  model::Document document = work_.document(entry.name, file);
  document.digest = digest;
  work_.sink.begin(document, "");
}

asio::awaitable<void> WholeFiles::commit(InHand& entry, const FileStatus& file,
                                         const base::Digest& digest) {
  work_.count_document(file.size);
  fly(entry, file);
  co_await work_.sink.commit(position(entry, file, digest), done(entry));
}

void WholeFiles::fly(InHand& entry, const FileStatus& file) {
  entry.seen = file;
  entry.verify = false;
  work_.names.fly(entry);
}

model::FilePosition WholeFiles::position(const InHand& entry, const FileStatus& file,
                                         const base::Digest& digest) const {
  model::FilePosition position = work_.position(entry.name, file);
  position.offset = file.size;
  position.prefix = digest;
  return position;
}

Sink::Done WholeFiles::done(InHand& entry) {
  return [this, &entry](bool committed) { on_done(entry, committed); };
}

void WholeFiles::on_done(InHand& entry, bool committed) {
  if (committed) done_.move_away(entry.name, entry.seen);
  const bool look_again = committed && !entry.again && !work_.once && !work_.settings.move_done &&
                          has_coarse_times(entry.seen) && work_.is_fresh(entry.seen);
  if (look_again && !work_.names.is_full()) {
    entry.verify = true;
    work_.names.wait(entry, std::chrono::steady_clock::now() + kCoarseTimes);
    work_.bell.ring();
  } else {
    work_.landed(entry, committed);
  }
}

}  // namespace girdle::intake
