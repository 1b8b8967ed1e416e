// Whole files in, whole files out. A file that Burstloom writes is either complete or not there.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "burstloom/common/error.hpp"

namespace burstloom {

using Bytes = std::vector<std::uint8_t>;

/// There is nothing of that name; names a file beside it that may be meant.
[[nodiscard]] Error no_such_file(const std::string& path);

/// The whole file. Throws Error: bad_input when it cannot be opened (missing, a folder, no permission) or is
/// larger than `largest` bytes, machine when reading fails half-way.
[[nodiscard]] Bytes read_file(const std::string& path, std::size_t largest = std::size_t{1} << 31);

/// Writes `content` under a temporary name of its own in the same folder, then renames it to `path`: whoever
/// looks sees the old file or the new one. Throws Error (machine) and leaves nothing behind when the disk is
/// full or the folder cannot be written.
void write_file(const std::string& path, std::span<const std::uint8_t> content);
void write_file(const std::string& path, std::string_view content);

/// A file that a library writes piece by piece through functions of ours. No call throws: libraries of C
/// could not bear it, and some forget what failed. The first failure is kept, and told at the end.
class FileInPieces {
 public:
  /// Writes to `file`, a descriptor, and closes it; `path` is what messages call it.
  FileInPieces(int file, const std::string& path);
  ~FileInPieces();
  FileInPieces(const FileInPieces&) = delete;
  FileInPieces& operator=(const FileInPieces&) = delete;

  /// How many of the bytes were written: all, unless something has failed.
  [[nodiscard]] std::size_t write(std::span<const std::uint8_t> bytes);
  /// As lseek: the new place, -1 where that is impossible.
  [[nodiscard]] std::int64_t seek(std::int64_t offset, int from);
  [[nodiscard]] std::int64_t size() const;

  /// Throws Error (machine) when anything has failed so far.
  void require_good() const;
  /// Puts all of it on the disk and closes; as `require_good`.
  void finish();

 private:
  void remember(int reason);

  std::string path_;
  int file_;
  int reason_ = 0;  // errno of the first failure
};

/// Throws Error (usage) where one of `outputs` is a file of `inputs`, by whichever name or link: it would be
/// gone once the output is written. Empty paths are none.
void require_inputs_kept(const std::vector<std::string>& inputs, const std::vector<std::string>& outputs);

class TemporaryFile;

/// Several files of which all are new afterwards, or none.
class FilesTogether {
 public:
  FilesTogether();
  ~FilesTogether();
  FilesTogether(const FilesTogether&) = delete;
  FilesTogether& operator=(const FilesTogether&) = delete;

  /// Writes under a temporary name, as `write_file` and `write_file_in_pieces`. Throws Error: machine when
  /// that fails, usage when a file for this path has been added before.
  void add(const std::string& path, const std::function<void(FileInPieces&)>& write);
  void add(const std::string& path, std::span<const std::uint8_t> content);
  void add(const std::string& path, std::string_view content);

  /// Puts all of them in place. Where one cannot be, those placed before give way to the old files again,
  /// and Error (machine) is thrown; on a file system that cannot exchange two files (as NFS) some stay new,
  /// and the error says so. Killed half-way, each file is the old or the new one, whole.
  void place();

 private:
  std::vector<std::unique_ptr<TemporaryFile>> files_;
};

/// The same for libraries that write piece by piece: `write` fills the temporary file. Where it throws after
/// a failed write, that failure is thrown in its stead. A device or a pipe (/dev/null) is written to as it
/// is.
void write_file_in_pieces(const std::string& path, const std::function<void(FileInPieces&)>& write);

/// A file of a folder that is written whole: its path below the folder, '/' between parts.
struct FolderFile {
  std::string path;
  std::string content;
};

/// Writes the files into `folder`. A new folder appears at once with all that is in it; in one that is there
/// already all files become new or none, as with FilesTogether, and what else lies there stays. A list of
/// what was written goes with them, by which the next call knows its own. Throws Error: usage when a path is
/// absolute or holds '..', when a folder is a link, and, unless `force`, when the folder holds files but no
/// such list or one in the way is another's or was edited; machine when a folder or file cannot be written.
void write_folder(const std::string& folder, const std::vector<FolderFile>& files, bool force = false);

/// CRC-32 as in ISO-HDLC (IEEE 802.3, zlib): polynomial 0x04C11DB7 reflected, start and final xor 0xFFFFFFFF.
/// "123456789" gives 0xCBF43926. `so_far` continues a checksum over several pieces.
[[nodiscard]] std::uint32_t crc32(std::span<const std::uint8_t> bytes, std::uint32_t so_far = 0);

}  // namespace burstloom
