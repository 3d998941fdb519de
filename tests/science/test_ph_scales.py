"""Scales of pH against a GPL reference (tests only) and the check values of the best-practice guide."""

import kgen
import numpy as np
import PyCO2SYS
import pytest

from ramet.science.ph_scales import (
    hydrogen_activity_takahashi_1982,
    kf_dickson_riley_1979,
    ks_dickson_1990,
    total_from_nbs,
)


def test_nbs_readings_become_total_as_in_the_reference():
    axes = np.meshgrid(np.linspace(10, 35, 6), np.linspace(25, 40, 4), np.linspace(6.5, 8.5, 5))
    celsius, salinity, ph = (axis.ravel() for axis in axes)
    theirs = PyCO2SYS.sys(
        par1=2300, par1_type=1, par2=ph, par2_type=3, temperature=celsius, salinity=salinity, opt_pH_scale=4
    )
    # Same relations: only rounding.
    np.testing.assert_allclose(total_from_nbs(ph, celsius, salinity), theirs["pH_total"], atol=1e-6)
    np.testing.assert_allclose(hydrogen_activity_takahashi_1982(celsius, salinity), theirs["fH"], rtol=1e-9)
    np.testing.assert_allclose(kf_dickson_riley_1979(celsius, salinity), theirs["k_fluoride"], rtol=1e-9)


def test_bisulfate_agrees_with_kgen():
    assert float(ks_dickson_1990(25, 35)) == pytest.approx(kgen.calc_Ks(temp_c=25, sal=35)["KS"], rel=1e-6)


def test_a_probe_set_with_bottle_buffers_reads_a_good_tenth_too_high():
    # The best-practice guide speaks of 0.1 to 0.2 between the scales (from memory).
    assert 8.2 - float(total_from_nbs(8.2, 25, 35)) == pytest.approx(0.137, abs=0.01)
