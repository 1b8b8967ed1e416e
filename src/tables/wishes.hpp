// What each voice wanted, burst by burst, and what became of it: a stream and its account put side by side,
// in the order in which a player's weaver comes upon them.
#pragma once

#include <vector>

#include "burstloom/stream/account.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom::table_detail {

struct Wish {
  Tick start = 0;  ///< as it was wanted
  std::uint16_t voice = 0;
  const Burst* made = nullptr;  ///< of the stream; null: dropped
};

/// Every burst of `stream` and every dropped one of the account, in order of wanted start, then voice. The
/// made ones come in the order of the stream, which has to live on. Without an account (empty): one voice,
/// all as wanted.
[[nodiscard]] std::vector<Wish> wishes_of(const BurstStream& stream, const Account& account);

}  // namespace burstloom::table_detail
