#include "simulate.hpp"

#include <fcntl.h>
#include <gelf.h>
#include <libelf.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>
#include <unistd.h>

#include <algorithm>
#include <cstdarg>
#include <cstring>
#include <deque>
#include <optional>
#include <stdexcept>

// simavr keeps its memory to the program's end; the leak checker of a sanitizer build is told so.
extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_suppressions() {
  return "leak:libsimavr";
}

namespace avr_check {
namespace {

DEFINE_FIFO(uint16_t, uart_fifo);

constexpr int kRamEnd = 0x8FF, kTccr1a = 0x80, kTccr1b = 0x81, kPortb = 0x25;

// Address of a symbol in the data space; avr-gcc puts that at 0x800000.
unsigned data_address_of(const std::string& path, const std::string& symbol) {
  elf_version(EV_CURRENT);
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  Elf* elf = elf_begin(file, ELF_C_READ, nullptr);
  unsigned found = 0;
  for (Elf_Scn* section = nullptr; elf != nullptr && (section = elf_nextscn(elf, section)) != nullptr;) {
    GElf_Shdr header;
    gelf_getshdr(section, &header);
    if (header.sh_type != SHT_SYMTAB) continue;
    Elf_Data* data = elf_getdata(section, nullptr);
    for (int i = 0; i < static_cast<int>(header.sh_size / header.sh_entsize); ++i) {
      GElf_Sym entry;
      gelf_getsym(data, i, &entry);
      if (symbol == elf_strptr(elf, header.sh_link, entry.st_name)) found = entry.st_value & 0xFFFF;
    }
  }
  if (elf != nullptr) elf_end(elf);
  if (file >= 0) ::close(file);
  if (found == 0) throw std::runtime_error(path + ": no symbol " + symbol);
  return found;
}

// A serial line with the time that its bytes take. simavr's own receiver holds 64 bytes and waits between
// them; here it has the two of the data sheet (20.7.1, receive complete and the FIFO), and a byte that finds
// both full is lost.
class SerialLine {
 public:
  SerialLine(avr_t* avr, Peer& peer, double baud)
      : avr_(avr), peer_(peer), cycles_per_byte_(static_cast<avr_cycle_count_t>(10 * kClockHz / baud)) {
    for (avr_io_t* io = avr->io_port; io != nullptr; io = io->next)
      if (std::strcmp(io->kind, "uart") == 0) uart_ = reinterpret_cast<avr_uart_t*>(io);
    if (uart_ == nullptr) throw std::runtime_error("simavr has no serial line here");
    uart_->flags = 0;  // nothing printed, no sleeping
    avr_irq_register_notify(
        avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT),
        [](avr_irq_t*, std::uint32_t value, void* self) {
          static_cast<SerialLine*>(self)->heard_.push_back(static_cast<std::uint8_t>(value));
        },
        this);
    avr_cycle_timer_register(avr, 1, timer<&SerialLine::talk>, this);
  }

  void step() {
    if (!uart_fifo_isempty(&uart_->input) && avr_regbit_get(avr_, uart_->rxc.raised) == 0)
      avr_raise_interrupt(avr_, &uart_->rxc);
  }

  int overruns = 0;

 private:
  // Timers, unlike steps, come on time while the chip sleeps. Each says when it wants to be called again.
  template <avr_cycle_count_t (SerialLine::*What)()>
  static avr_cycle_count_t timer(avr_t*, avr_cycle_count_t, void* self) {
    return (static_cast<SerialLine*>(self)->*What)();
  }

  avr_cycle_count_t talk() {
    const bool was_free = coming_.empty();
    const auto more = peer_.talk(static_cast<double>(avr_->cycle) / kClockHz, heard_, was_free);
    heard_.clear();
    for (const std::uint8_t byte : more) {
      free_at_ = std::max(free_at_, avr_->cycle) + cycles_per_byte_;
      coming_.emplace_back(free_at_, byte);
    }
    if (was_free && !coming_.empty())
      avr_cycle_timer_register(avr_, cycles_per_byte_, timer<&SerialLine::arrive>, this);
    return avr_->cycle + kClockHz / 1000;
  }

  avr_cycle_count_t arrive() {
    if (uart_fifo_get_read_size(&uart_->input) >= 2) {
      ++overruns;
    } else if (avr_regbit_get(avr_, uart_->rxen) != 0) {
      uart_fifo_write(&uart_->input, coming_.front().second);
    }
    coming_.pop_front();
    step();
    return coming_.empty() ? 0 : coming_.front().first;
  }

  avr_t* avr_;
  Peer& peer_;
  avr_cycle_count_t cycles_per_byte_, free_at_ = 0;
  avr_uart_t* uart_ = nullptr;
  std::deque<std::pair<avr_cycle_count_t, std::uint8_t>> coming_;
  std::vector<std::uint8_t> heard_;
};

class Simulation {
 public:
  Simulation(const std::string& elf, const Options& options)
      : options_(options), status_at_(data_address_of(elf, "player_status")) {
    avr_global_logger_set(
        [](avr_t*, const int, const char*, va_list) {});  // it would talk on standard output
    elf_firmware_t firmware{};
    if (elf_read_firmware(elf.c_str(), &firmware) != 0) throw std::runtime_error(elf + ": cannot be read");
    avr_ = avr_make_mcu_by_name("atmega328p");
    if (avr_ == nullptr) throw std::runtime_error("simavr does not know the atmega328p");
    avr_init(avr_);
    avr_load_firmware(avr_, &firmware);
    avr_->frequency = kClockHz;
    avr_->log = LOG_NONE;
    avr_->sleep = [](avr_t*, avr_cycle_count_t) {};  // as fast as it goes
    listen('B', 1, [](avr_irq_t*, std::uint32_t value, void* self) {
      auto& simulation = *static_cast<Simulation*>(self);
      if (!simulation.is_impossible_edge(value != 0) && !simulation.is_lost(value != 0))
        simulation.record(&Playback::gate, value != 0);
    });
    if (options.peer != nullptr) line_.emplace(avr_, *options.peer, options.baud);
    listen('D', 7, [](avr_irq_t*, std::uint32_t value, void* self) {
      static_cast<Simulation*>(self)->record(&Playback::blocked, value != 0);
    });
  }
  Simulation(const Simulation&) = delete;
  Simulation& operator=(const Simulation&) = delete;
  ~Simulation() { avr_terminate(avr_); }

  Playback run() {
    const auto last = static_cast<avr_cycle_count_t>(options_.seconds * kClockHz);
    avr_cycle_count_t end = last;
    avr_flashaddr_t before = 0;
    while (avr_->cycle < end) {
      set_switches();
      brown_out();
      if (line_) line_->step();
      const int state = avr_run(avr_);
      if (state == cpu_Done || state == cpu_Crashed) throw std::runtime_error("the simulated chip crashed");
      if (avr_->pc == 0 && before != 0) ++run_.resets;
      before = avr_->pc;
      show_port();
      run_.deepest_stack = std::max(run_.deepest_stack, stack_depth());
      const bool done =
          options_.peer != nullptr ? options_.peer->is_done() : avr_->data[status_at_ + 3] >= options_.songs;
      if (options_.until_song_ends && end == last && done)
        end = std::min<avr_cycle_count_t>(last, avr_->cycle + kClockHz / 20);
    }
    read_status();
    if (line_) run_.overruns = line_->overruns;
    run_.cycles = static_cast<std::int64_t>(avr_->cycle);
    return run_;
  }

 private:
  void listen(char port, int pin, avr_irq_notify_t notify) {
    avr_irq_register_notify(avr_io_getirq(avr_, AVR_IOCTL_IOPORT_GETIRQ(port), IOPORT_IRQ_PIN0 + pin), notify,
                            this);
  }

  void brown_out() {
    const std::size_t rises = (run_.gate.size() + 1) / 2;
    if (browned_out_ || options_.brown_out_in_burst == 0 || rises < options_.brown_out_in_burst) return;
    if (!run_.gate.back().high) return;
    browned_out_ = true;
    avr_reset(avr_);
    record(&Playback::gate, false);
  }

  void record(std::vector<Edge> Playback::*wire, bool high) {
    auto& edges = run_.*wire;
    const bool was = !edges.empty() && edges.back().high;
    if (high != was) edges.push_back({static_cast<std::int64_t>(avr_->cycle), high});
  }

  // simavr 1.6 moves an output compare pin at the counter's turn as in a PWM mode: up while it is set to
  // clear on match, down while it is set to set on match. In normal mode a match is the only thing that moves
  // the pin, up or down as set (data sheet, compare output modes, non-PWM). Such an edge is none: it is left
  // out, and counted.
  bool is_impossible_edge(bool high) {
    const bool normal_mode = (avr_->data[kTccr1a] & 3) == 0 && (avr_->data[kTccr1b] & 0x18) == 0;
    const int clears = 2, sets = 3, compare_mode = avr_->data[kTccr1a] >> 6;
    const bool impossible = normal_mode && compare_mode == (high ? clears : sets);
    if (impossible) ++run_.impossible_edges;
    return impossible;
  }

  // A pin that the compare unit let go of shows its port's bit again (data sheet, "OC1A disconnected");
  // simavr leaves it as it was.
  void show_port() {
    const bool high = !run_.gate.empty() && run_.gate.back().high;
    if (high && avr_->data[kTccr1a] >> 6 == 0 && (avr_->data[kPortb] & 2) == 0)
      record(&Playback::gate, false);
  }

  bool is_lost(bool high) const { return options_.lose_falls && !high && avr_->data[kTccr1a] >> 6 == 2; }

  void set_switches() {
    while (next_ < options_.switches.size() &&
           static_cast<double>(avr_->cycle) >= options_.switches[next_].at_s * kClockHz) {
      set_input(4, !options_.switches[next_].arm_closed);
      set_input(5, !options_.switches[next_].stop_closed);
      avr_ioport_external_t outside{};
      outside.name = 'D';
      outside.mask = 0x30;
      outside.value = static_cast<unsigned>(levels_) & 0x30;
      avr_ioctl(avr_, AVR_IOCTL_IOPORT_SET_EXTERNAL('D'), &outside);
      ++next_;
    }
  }

  void set_input(int pin, bool high) {
    levels_ = high ? levels_ | 1 << pin : levels_ & ~(1 << pin);
    avr_raise_irq(avr_io_getirq(avr_, AVR_IOCTL_IOPORT_GETIRQ('D'), IOPORT_IRQ_PIN0 + pin), high ? 1 : 0);
  }

  int stack_depth() const {
    const int pointer = avr_->data[R_SPL] | avr_->data[R_SPH] << 8;
    return pointer == 0 ? 0 : kRamEnd - pointer;
  }

  void read_status() {
    const std::uint8_t* at = avr_->data + status_at_;
    const auto word = [](const std::uint8_t* low) {
      std::uint32_t value;  // little-endian there and here
      std::memcpy(&value, low, sizeof value);
      return value;
    };
    run_.status = {at[0], at[1], at[2], at[3], word(at + 4), word(at + 8), word(at + 12)};
  }

  Options options_;
  unsigned status_at_;
  avr_t* avr_ = nullptr;
  bool browned_out_ = false;
  std::optional<SerialLine> line_;
  Playback run_;
  std::size_t next_ = 0;
  int levels_ = 0x30;
};

void append_edges(std::vector<std::pair<std::int64_t, std::string>>& all, const std::vector<Edge>& edges,
                  const std::string& high, const std::string& low) {
  for (const Edge& edge : edges) all.emplace_back(edge.cycle, edge.high ? high : low);
}

std::vector<std::pair<std::int64_t, std::string>> merged(const Playback& run, const std::string (&words)[4]) {
  std::vector<std::pair<std::int64_t, std::string>> all;
  append_edges(all, run.gate, words[0], words[1]);
  append_edges(all, run.blocked, words[2], words[3]);
  std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  return all;
}

std::int64_t ten_nanoseconds(std::int64_t cycle) {
  return (cycle * 25 + 2) / 4;
}

}  // namespace

Playback simulate(const std::string& elf, const Options& options) {
  return Simulation(elf, options).run();
}

std::string to_vcd(const Playback& run) {
  std::string text =
      "$timescale 10 ns $end\n$scope module chip $end\n$var wire 1 g gate $end\n$var wire 1 b blocked $end\n"
      "$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n0g\n0b\n$end\n";
  for (const auto& [cycle, change] : merged(run, {"1g", "0g", "1b", "0b"}))
    text += "#" + std::to_string(ten_nanoseconds(cycle)) + "\n" + change + "\n";
  return text + "#" + std::to_string(ten_nanoseconds(run.cycles)) + "\n";
}

std::string to_csv(const Playback& run) {
  std::string text = "cycle,wire,level\n";
  for (const auto& [cycle, change] : merged(run, {"gate,1", "gate,0", "blocked,1", "blocked,0"}))
    text += std::to_string(cycle) + "," + change + "\n";
  return text;
}

}  // namespace avr_check
