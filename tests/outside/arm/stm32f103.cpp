// An STM32F103 for its player: Unicorn runs the Cortex-M3 code; around it stands our own reading of the
// reference manual (RM0008): TIM2 counting and matching (15.3), TIM1 in trigger and one-pulse mode with its
// break input (14.3), SysTick, the watchdog. It shows that the program does what it means to, with those
// rules; it is no second opinion on the rules. Each instruction is taken for three cycles: more than the core
// needs on the average with flash at two wait states.
#include <unicorn/unicorn.h>

#include <algorithm>
#include <memory>
#include <random>
#include <stdexcept>

#include "bench.hpp"
#include "burstloom/common/files.hpp"

namespace arm_check {
namespace {

constexpr std::int64_t kClockHz = 72'000'000;
constexpr int kCyclesAnInstruction = 3;
// The watchdog at its fastest: 60 kHz / 4 instead of 40 kHz / 4 (data sheet, low-speed oscillator).
constexpr std::int64_t kWatchdogCountCycles = kClockHz / 15'000;

struct Timer {
  std::uint32_t cr1 = 0, smcr = 0, sr = 0, ccmr1 = 0, ccer = 0, cnt = 0, psc = 0, arr = 0xFFFF, ccr1 = 0,
                bdtr = 0;
  std::uint32_t prescaled = 0;

  [[nodiscard]] std::uint32_t mode() const { return ccmr1 >> 4 & 7; }
  /// One cycle; true when the counter has moved.
  bool count() {
    if (!(cr1 & 1) || ++prescaled <= psc) return false;
    prescaled = 0;
    if (cnt == arr) {
      cnt = 0;
      sr |= 1;
      if (cr1 & 8) cr1 &= ~1U;  // one pulse
    } else {
      cnt = (cnt + 1) & 0xFFFF;
    }
    return true;
  }
  void update() {
    cnt = prescaled = 0;
    sr |= 1;
  }
};

class Chip {
 public:
  Chip(const std::string& elf, const Bench& bench) : bench_(bench), status_at_(status_address(elf)) {
    check(uc_open(UC_ARCH_ARM, static_cast<uc_mode>(UC_MODE_THUMB | UC_MODE_MCLASS), &core_), "no core");
    check(uc_mem_map(core_, kFlash, 0x10000, UC_PROT_ALL), "no flash");
    check(uc_mem_map(core_, kRam, kRamBytes, UC_PROT_ALL), "no RAM");
    map_registers(0x40000000, 0x24000);
    map_registers(kSystem, 0x1000);
    const auto image = burstloom::read_file(elf.substr(0, elf.size() - 3) + "bin");
    check(uc_mem_write(core_, kFlash, image.data(), image.size()), "the image is too long");
    const std::vector<std::uint8_t> untouched(kRamBytes, kUntouched);
    check(uc_mem_write(core_, kRam, untouched.data(), untouched.size()), "no RAM");
    uc_hook hook = 0;
    check(uc_hook_add(core_, &hook, UC_HOOK_CODE, reinterpret_cast<void*>(&on_instruction), this, 1, 0),
          "no hook");
  }
  Chip(const Chip&) = delete;
  Chip& operator=(const Chip&) = delete;
  ~Chip() { uc_close(core_); }

  Playback play() {
    std::uint32_t stack = word(kFlash), at = word(kFlash + 4);
    check(uc_reg_write(core_, UC_ARM_REG_SP, &stack), "no stack");
    end_ = static_cast<std::int64_t>(bench_.seconds * kClockHz);
    while (!done_) {
      check(uc_emu_start(core_, at | 1, 0xFFFFFFFE, 0, 0), "the program went astray");
      check(uc_reg_read(core_, UC_ARM_REG_PC, &at), "no PC");
      if (asleep_) at += 2;
      asleep_ = false;
    }
    read_status();
    played_.cycles = cycle_;
    played_.deepest_stack = deepest_stack();
    return played_;
  }

 private:
  static constexpr std::uint32_t kFlash = 0x08000000, kRam = 0x20000000, kSystem = 0xE000E000,
                                 kTim1 = 0x40012C00, kTim2 = 0x40000000, kRamBytes = 0x5000;
  static constexpr std::uint8_t kUntouched = 0xA5;

  static void check(uc_err error, const char* what) {
    if (error != UC_ERR_OK) throw std::runtime_error(std::string(what) + ": " + uc_strerror(error));
  }

  // Registers: a block is mapped to callbacks which are told the offset in it.
  struct Block {
    Chip* chip;
    std::uint32_t base;
  };
  void map_registers(std::uint32_t base, std::size_t size) {
    blocks_.push_back(std::make_unique<Block>(Block{this, base}));
    const auto read = [](uc_engine*, std::uint64_t offset, unsigned, void* block) -> std::uint64_t {
      const auto* of = static_cast<Block*>(block);
      return of->chip->read(of->base + static_cast<std::uint32_t>(offset));
    };
    const auto write = [](uc_engine*, std::uint64_t offset, unsigned, std::uint64_t value, void* block) {
      const auto* of = static_cast<Block*>(block);
      of->chip->write(of->base + static_cast<std::uint32_t>(offset), static_cast<std::uint32_t>(value));
    };
    check(uc_mmio_map(core_, base, size, read, blocks_.back().get(), write, blocks_.back().get()),
          "no registers");
  }

  std::uint32_t read(std::uint32_t address) {
    if (address >= kTim1 && address < kTim1 + 0x400) return timer_register(tim1_, address - kTim1);
    if (address < kTim2 + 0x400) return timer_register(tim2_, address - kTim2);
    switch (address) {
      case 0x40010C08:
        return (stop_closed_ ? 0U : 1U << 12) | (arm_closed_ ? 0U : 1U << 13);  // GPIOB_IDR
      case 0x40021000:
        return rcc_cr_ | (rcc_cr_ & 0x01010000) << 1;  // what is switched on is ready
      case 0x40021004:
        return rcc_cfgr_ | (rcc_cfgr_ & 3) << 2;
      default:
        return 0;
    }
  }
  static std::uint32_t& timer_register(Timer& timer, std::uint32_t offset) {
    static std::uint32_t other = 0;
    switch (offset) {
      case 0x00:
        return timer.cr1;
      case 0x08:
        return timer.smcr;
      case 0x10:
        return timer.sr;
      case 0x18:
        return timer.ccmr1;
      case 0x20:
        return timer.ccer;
      case 0x24:
        return timer.cnt;
      case 0x28:
        return timer.psc;
      case 0x2C:
        return timer.arr;
      case 0x34:
        return timer.ccr1;
      case 0x44:
        return timer.bdtr;
      default:
        return other = 0;
    }
  }
  void write_timer(Timer& timer, std::uint32_t offset, std::uint32_t value) {
    if (offset == 0x14) {
      if (value & 1) timer.update();
    } else if (offset == 0x10) {
      timer.sr &= value;
    } else {
      timer_register(timer, offset) = value;
    }
    if (&timer == &tim2_ && tim2_.mode() == 4) oc1ref_ = false;
    show_gate();
  }
  void write(std::uint32_t address, std::uint32_t value) {
    if (address >= kTim1 && address < kTim1 + 0x400) return write_timer(tim1_, address - kTim1, value);
    if (address < kTim2 + 0x400) return write_timer(tim2_, address - kTim2, value);
    switch (address) {
      case 0x40003000:  // IWDG_KR
        if (value == 0xCCCC) watchdog_runs_ = true;
        if (value == 0xAAAA) watchdog_due_ = cycle_ + watchdog_counts_ * kWatchdogCountCycles;
        break;
      case 0x40003008:
        watchdog_counts_ = value + 1;
        break;
      case 0x40010804:
        gate_is_timers_ = (value & 0xF) == 0xB;
        break;  // GPIOA_CRH
      case 0x40021000:
        rcc_cr_ = value;
        break;
      case 0x40021004:
        rcc_cfgr_ = value;
        break;
      case kSystem + 0x10:
        systick_due_ = value & 1 ? cycle_ + systick_reload_ + 1 : 0;
        break;
      case kSystem + 0x14:
        systick_reload_ = value;
        break;
      default:
        break;
    }
  }

  // 14.3.12: break active high, and MOE stays off while it lasts.
  void show_gate() {
    if (!stop_closed_ && tim1_.bdtr & 1U << 12 && tim1_.bdtr & 1U << 13) {
      tim1_.bdtr &= ~(1U << 15);
      tim1_.sr |= 1U << 7;
    }
    const bool active = tim1_.mode() == 7 && tim1_.cnt >= tim1_.ccr1;
    const bool high = gate_is_timers_ && tim1_.ccer & 1 && tim1_.bdtr & 1U << 15 && active;
    if (high == high_) return;
    high_ = high;
    played_.gate.push_back({cycle_, high});
  }

  void pass(std::int64_t cycles) {
    for (const std::int64_t until = cycle_ + cycles; cycle_ < until;) {
      ++cycle_;
      if (tim2_.count() && tim2_.cnt == tim2_.ccr1 && tim2_.mode() == 1 && !oc1ref_) {
        oc1ref_ = true;
        if (tim1_.smcr == 0x16) tim1_.cr1 |= 1;  // trigger mode, ITR1
      }
      if (tim1_.count()) show_gate();
    }
    look_at_switches();
    if (watchdog_runs_ && cycle_ > watchdog_due_) {
      played_.was_reset = true;
      finish();
    }
    if (cycle_ >= end_) finish();
  }
  void look_at_switches() {
    while (next_hand_ < bench_.switches.size() &&
           static_cast<double>(cycle_) >= bench_.switches[next_hand_].at_s * kClockHz) {
      arm_closed_ = bench_.switches[next_hand_].arm_closed;
      stop_closed_ = bench_.switches[next_hand_++].stop_closed;
      show_gate();
    }
  }
  void finish() {
    done_ = true;
    uc_emu_stop(core_);
  }

  void stall_sometimes() {
    if (bench_.stall_cycles == 0 || cycle_ < next_stall_) return;
    const auto dice = [&](std::int64_t sides) {
      return static_cast<std::int64_t>(dice_() % static_cast<std::uint64_t>(sides));
    };
    pass(dice(bench_.stall_cycles));
    next_stall_ = cycle_ + dice(4 * bench_.stall_cycles);
  }

  static void on_instruction(uc_engine*, std::uint64_t address, std::uint32_t, void* chip) {
    static_cast<Chip*>(chip)->step(static_cast<std::uint32_t>(address));
  }
  void step(std::uint32_t address) {
    stall_sometimes();
    std::uint16_t opcode = 0;
    uc_mem_read(core_, address, &opcode, sizeof opcode);
    if (opcode == 0xBF30) {  // WFI: until SysTick rings; in one instruction's time when it has already
      while (cycle_ < systick_due_ && !done_) pass(std::min<std::int64_t>(systick_due_ - cycle_, 720));
      asleep_ = true;
      uc_emu_stop(core_);
    }
    pass(kCyclesAnInstruction);
    if (++steps_ % 4096 == 0) end_soon_after_song();
  }
  void end_soon_after_song() {
    if (song_over_) return;
    read_status();
    song_over_ = played_.status.mark == 0xB5 && played_.status.songs >= bench_.songs;
    if (song_over_) end_ = std::min(end_, cycle_ + kClockHz / 200);
  }

  std::uint32_t word(std::uint32_t address) {
    std::uint32_t value = 0;
    check(uc_mem_read(core_, address, &value, sizeof value), "no memory there");
    return value;
  }
  void read_status() {
    const std::uint32_t bytes = word(status_at_);
    const auto byte = [&](int at) { return static_cast<std::uint8_t>(bytes >> 8 * at); };
    played_.status = {byte(0), byte(1), byte(2), byte(3), word(status_at_ + 4), word(status_at_ + 8)};
  }

  // Down from the stack's top, to the first 64 bytes that nobody wrote to.
  int deepest_stack() {
    std::vector<std::uint8_t> ram(kRamBytes);
    check(uc_mem_read(core_, kRam, ram.data(), ram.size()), "no RAM");
    std::size_t depth = 0;
    for (std::size_t below = 0; below < std::min(depth + 64, ram.size()); ++below)
      if (ram[ram.size() - 1 - below] != kUntouched) depth = below + 1;
    return static_cast<int>(depth);
  }

  const Bench bench_;
  const std::uint32_t status_at_;
  uc_engine* core_ = nullptr;
  std::vector<std::unique_ptr<Block>> blocks_;
  Timer tim1_, tim2_;
  bool oc1ref_ = false, high_ = false, gate_is_timers_ = false;
  bool arm_closed_ = false, stop_closed_ = false, asleep_ = false, done_ = false, song_over_ = false;
  bool watchdog_runs_ = false;
  std::int64_t cycle_ = 0, end_ = 0, watchdog_due_ = kClockHz, watchdog_counts_ = 4096, next_stall_ = 0;
  std::int64_t systick_due_ = 0, systick_reload_ = 0, steps_ = 0;
  std::uint32_t rcc_cr_ = 0, rcc_cfgr_ = 0;
  std::size_t next_hand_ = 0;
  std::mt19937_64 dice_{1};
  Playback played_;
};

}  // namespace

Playback play_stm32f103(const std::string& elf, const Bench& bench) {
  return Chip(elf, bench).play();
}

}  // namespace arm_check
