// Whole files in, whole files out. A file that Burstloom writes is either complete or not there.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace burstloom {

using Bytes = std::vector<std::uint8_t>;

/// The whole file. Throws Error: bad_input when it cannot be opened (missing, a folder, no permission) or is
/// larger than `largest` bytes, machine when reading fails half-way.
[[nodiscard]] Bytes read_file(const std::string& path, std::size_t largest = std::size_t{1} << 31);

/// Writes `content` under a temporary name in the same folder, then renames it to `path`: whoever looks sees
/// the old file or the new one. Throws Error (machine) and leaves nothing behind when the disk is full or the
/// folder cannot be written.
void write_file(const std::string& path, std::span<const std::uint8_t> content);
void write_file(const std::string& path, std::string_view content);

/// Hands `write` a temporary path in the same folder and renames it to `path` when `write` returns; removes it
/// when `write` throws. For libraries that want to write by name. A device or a pipe (/dev/null) is handed over
/// as it is.
void write_file_by_name(const std::string& path, const std::function<void(const std::string& temporary)>& write);

/// A file of a folder that is written whole: its path below the folder, '/' between parts.
struct FolderFile {
  std::string path;
  std::string content;
};

/// Writes the files into `folder`, which is made if need be: each by itself as `write_file` does, after all of
/// them have been written under temporary names, so that a full disk leaves the folder as it was. Throws Error:
/// usage when a path is absolute or holds '..', machine when a folder or file cannot be written.
void write_folder(const std::string& folder, const std::vector<FolderFile>& files);

/// CRC-32 as in ISO-HDLC (IEEE 802.3, zlib): polynomial 0x04C11DB7 reflected, start and final xor 0xFFFFFFFF.
/// "123456789" gives 0xCBF43926. `so_far` continues a checksum over several pieces.
[[nodiscard]] std::uint32_t crc32(std::span<const std::uint8_t> bytes, std::uint32_t so_far = 0);

}  // namespace burstloom
