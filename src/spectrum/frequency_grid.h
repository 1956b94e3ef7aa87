// The frequencies of a transform's bins, and which bins belong to a band. Symbols as in
// docs/measures.md: N frame length, fs sample rate, bins k = 0..N/2 at f_k = k fs / N.
#pragma once

namespace hearwood {

/// Bins first <= k < last.
struct BinRange {
    int first = 0;
    int last = 0;
    int count() const { return last > first ? last - first : 0; }
    bool contains(int k) const { return first <= k && k < last; }
    bool operator==(const BinRange&) const = default;
};

class FrequencyGrid {
  public:
    /// REQUIRES: frame >= 2, sample_rate > 0.
    FrequencyGrid(double sample_rate, int frame) : sample_rate_(sample_rate), frame_(frame) {}

    int bins() const { return frame_ / 2 + 1; }
    double sample_rate() const { return sample_rate_; }
    int frame() const { return frame_; }
    /// df, Hz
    double bin_width() const { return sample_rate_ / frame_; }
    /// f_k in Hz, with one rounding: k * fs is exact for the rates and frame lengths in use.
    double frequency(int k) const { return k * sample_rate_ / frame_; }
    double nyquist() const { return sample_rate_ / 2; }

    /// Bins with low_hz <= f_k < high_hz; what lies above fs/2 is cut off.
    BinRange bins_in(double low_hz, double high_hz) const;
    /// Bins with f_k >= low_hz up to and including N/2.
    BinRange bins_from(double low_hz) const;
    /// False when the band [.., high_hz) reaches above fs/2: what is measured over half a band is
    /// another quantity, so it is missing.
    bool wholly_there(double high_hz) const { return high_hz <= nyquist(); }

  private:
    double sample_rate_;
    int frame_;
};

}  // namespace hearwood
