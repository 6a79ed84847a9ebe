// Takes in files that grow: logs to which an instrument adds lines. Each new piece is a document; a
// half-written last line stays for the next.
//
// The position is the offset, the reader's state there and the digest of all bytes before it. A
// file that is shorter, or whose bytes before the offset are others, is another generation of it
// and is read from its beginning. The file stays open while the folder is watched, so that the rest
// of a file that is rotated away is read from the old descriptor. Where the old file's new name
// matches too, it is taken for a new file and read from its beginning: its records are known by
// their content and count once (casework sees to that), so nothing here tries to be clever.
//
// `max_bytes` does not apply: a piece is small however large the file grows. No piece of a file is
// begun while the one before is in flight, so a commit that fails never leaves a gap.
#pragma once

#include <list>
#include <memory>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "base/digest.h"
#include "intake/folder_work.h"

namespace girdle::intake {

class GrowingFiles final : public FileTaker {
 public:
  // `max_record_bytes`: no record is longer, so a piece of twice that has at least one end of a
  // record.
  GrowingFiles(FolderWork& work, uint64_t max_record_bytes);

  bool has_news(const char* name) override;
  boost::asio::awaitable<void> take(InHand& entry) override;
  SteadyTime next_due() const override;
  boost::asio::awaitable<void> tend() override;
  bool is_busy() const override { return unfinished_ > 0; }
  void on_event(InHand& entry, Happened happened) override;
  void after_scan() override;
  void folder_lost() override;

 private:
  // How far a file was handed over.
  struct Stand {
    uint64_t offset = 0;
    base::Digest prefix{};  // of the bytes before the offset
    std::string resume;     // the reader's state there
  };
  struct Generation {
    Descriptor file;
    FileStatus opened;  // tells which file it is
    FileStatus seen;    // when all of it up to its last complete record had been handed over
    Stand at;
    Stand committed;           // where to begin again after a failed commit
    base::Sha256 hash;         // of the bytes before `at`, to go on with
    std::string tail;          // the last of these, at most kTail
    bool is_verified = false;  // `hash` and `tail` were made from the file as it is
    bool takes_all =
        false;  // the next piece is taken as it is: no record ended within the longest piece
    uint64_t piece = 0;   // bytes of the next piece
    int in_flight = 0;    // pieces
    bool failed = false;  // one of these
    SteadyTime used{};
  };
  // A file that has lost its name to another, or lost it altogether.
  struct Retired {
    std::string name;
    std::unique_ptr<Generation> file;
    uint64_t size = 0;  // when it was last looked at
    SteadyTime still_since{};
    SteadyTime due{};
  };
  // What is said of a piece when it is handed over.
  struct Piece {
    std::string_view bytes;
    bool whole = false;   // nothing follows
    bool at_end = false;  // it reaches the end of the file as it was looked at
  };

  Generation* find(const std::string& name);
  Descriptor open_file(InHand& entry, const FileStatus& file);
  Generation* open(InHand& entry, const FileStatus& file);
  bool reclaim(InHand& entry, const FileStatus& file, Generation*& out);
  // Another file has the name. Null when it could not be opened; the name is dealt with then.
  boost::asio::awaitable<Generation*> follow(InHand& entry, const FileStatus& file);
  bool make_room();
  static void start_over(Generation& file);

  // Whether the bytes before the offset still are what was handed over; what is not is started
  // over. False when the file cannot be read.
  boost::asio::awaitable<bool> check_prefix(const std::string& name, Generation& file,
                                            const FileStatus& now);
  boost::asio::awaitable<bool> verify(const std::string& name, Generation& file);
  // The digest of the first `length` bytes, left in `hash`; 0 or errno, ENODATA when there are
  // fewer.
  boost::asio::awaitable<int> digest_of(int file, uint64_t length, base::Sha256& hash);
  int read_tail(const Generation& file, std::string& tail);

  boost::asio::awaitable<void> grow(InHand& entry, Generation& file, const FileStatus& now);
  boost::asio::awaitable<void> move_times(InHand& entry, const Generation& file,
                                          const FileStatus& now);
  // Up to one piece at the offset, in buffer_.
  int read_piece(const Generation& file, uint64_t end, std::string_view& bytes);
  // False when no record ended within the piece: then nothing is committed. `entry` is null for a
  // retired file, whose name has another position.
  boost::asio::awaitable<bool> hand_over(const std::string& name, Generation& file,
                                         const FileStatus& now, Piece piece, InHand* entry);
  model::FilePosition position_of(const std::string& name, const Generation& file,
                                  const FileStatus& now, bool at_end) const;
  Sink::Done done(Generation& file);
  Sink::Done done(InHand& entry, Generation& file, const FileStatus& now, bool at_end);
  static void advance(Generation& file, std::string_view taken, std::string resume);
  void lengthen(Generation& file) const;
  void on_done(Generation& file, bool committed);

  Retired& retire(const std::string& name);
  boost::asio::awaitable<void> read_rest(Retired& retired, bool whole);
  // False when there is nothing more to come.
  boost::asio::awaitable<bool> tend(Retired& retired);

  FolderWork& work_;
  const uint64_t longest_piece_;
  std::unordered_map<std::string, std::unique_ptr<Generation>> open_;
  std::list<Retired> retired_;
  std::vector<char> buffer_;
  int unfinished_ = 0;  // pieces in flight that were not the last of their file
};

}  // namespace girdle::intake
