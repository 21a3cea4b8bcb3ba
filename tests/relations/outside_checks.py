"""Which test holds each relation, and against what: the part of the page that a person declares.

A check is a test's id below `tests/` and what it is checked against. `outside` is only what owes nothing to
this project: exact solutions, handbooks, other libraries, published data, common practice, or a solution
written for the tests with other methods (the sparse network of `tests/physics/volume_block.py` by scipy).
Values worked by hand from the same law, limit cases and laws that have to hold stand under `otherwise`.
"""

from dataclasses import dataclass

Check = tuple[str, str]


@dataclass(frozen=True)
class Held:
    """What holds one relation."""

    outside: tuple[Check, ...] = ()
    otherwise: tuple[Check, ...] = ()


EXACT, LAWS = "physics/test_conduction_exact.py::", "physics/test_conduction_laws.py::"
SOLVERS, GRID = "physics/test_conduction_solvers.py::", "physics/test_grid.py::"
ELECTRICAL, HISTORY = "physics/test_electrical.py::", "physics/test_history.py::"
VOLTAGE, COLD = "physics/test_voltage.py::", "physics/test_cold_cells.py::"
ROUND, SURFACES = "physics/test_round_cells.py::", "physics/test_surfaces.py::"
ROUND_PACK = "physics/test_round_pack.py::"
THERMISTOR, VARIED = "physics/test_thermistor.py::", "physics/test_varied_block.py::"
COOL, STUCK, HOT = (
    "physics/test_cool_down.py::", "physics/test_stuck_heater.py::", "physics/test_lasting_current.py::",
)  # fmt: skip
ALL_ROUND, MEASURED = "physics/test_heated_all_round.py::", "physics/test_measured_case.py::"
STEP, RELAXATION = "facts/test_voltage_step.py::", "facts/test_relaxation.py::"
FACTS, INVERSE = "facts/test_electrical_facts.py::", "facts/test_inverse.py::"
SENSING, RESPONSE = "facts/test_sensing_and_steps.py::", "facts/test_response.py::"

FEM = (f"{SOLVERS}test_heated_block_against_finite_elements", "finite elements by scikit-fem, to 0.05 K")
FEM_SWITCHED = (f"{SOLVERS}test_switches_against_finite_elements", "finite elements by scikit-fem, to 0.05 K")
BDF_SWITCHED = (
    f"{SOLVERS}test_switches_against_a_stiff_integrator",
    "scipy's BDF on a sparse network of the same volumes, to 1e-4 K",
)
WALL = (f"{EXACT}test_plane_wall", "Carslaw and Jaeger 3.11 (number from memory), the series")
DIRECT = (f"{SOLVERS}test_steady_state_against_a_direct_solution", "scipy's sparse direct solution")
LOOP = (
    "facts/test_closed_loop.py::test_thermostat_and_release_against_scipy",
    "scipy's BDF with events on the sparse network: release, number of switches, coldest point",
)
BRENT = (f"{HISTORY}test_the_instant_of_a_switch_against_brent", "scipy's root finder (Brent)")
RANGES = (
    "facts/test_ranges.py::test_the_judged_corners_bound_the_unfavourable_end",
    "2,048 drawn property sets on the same model (scipy.stats.qmc)",
)
RANGES_LASTING = (
    "facts/test_ranges_lasting.py::test_the_judged_corners_bound_the_unfavourable_end",
    "2,048 drawn property sets on the same model (scipy.stats.qmc)",
)
MIDDLE = (
    f"{MEASURED}test_the_middle_is_below_freezing_at_release",
    "a measured warm-up of four cells (common practice, no source)",
)

HELD: dict[str, Held] = {
    "physics.cells.cell_means": Held(
        (("physics/test_cells.py::test_cells_of_a_row_against_the_exact_wall",
          "Carslaw and Jaeger 3.11, its mean over each quarter by scipy's quadrature"),),
        (("physics/test_cells.py::test_cells_against_their_own_volumes_averaged", "averages by numpy"),),
    ),
    "physics.conduction.Axis": Held(
        ((f"{GRID}test_graded_volumes_against_finite_elements", "finite elements by scikit-fem, to 0.05 K"),
         WALL),
        ((f"{EXACT}test_halving_the_volumes_quarters_the_error", "second order, from the exact wall"),
         (f"{GRID}test_the_cut_of_the_facts_is_fine_enough", "a cut two to three times finer, to 0.3 K")),
    ),
    "physics.conduction.Axis.weights": Held(
        otherwise=((f"{GRID}test_even_and_graded_volumes_tend_to_the_same", "two fine cuts, to 0.02 K"),),
    ),
    "physics.conduction.Axis.modes": Held(
        ((f"{EXACT}test_surface_step", "Carslaw and Jaeger 3.3 and 3.4"), WALL),
        (("physics/test_conduction_modes.py::test_a_symmetric_block_is_built_by_half", "its own mirror"),),
    ),
    "physics.conduction.homogenised": Held(
        otherwise=((f"{GRID}test_a_long_row_as_one_body_keeps_the_heat_of_its_films", "the row by cells"),),
    ),
    "physics.conduction.Block": Held(
        (WALL, (f"{EXACT}test_constant_flux", "Carslaw and Jaeger 3.8"),
         (f"{EXACT}test_film_on_a_cell", "Carslaw and Jaeger 3.8, in kelvin"),
         (f"{EXACT}test_anisotropic_block", "Newman's product of three walls; scikit-fem (test_references)"),
         FEM, FEM_SWITCHED, BDF_SWITCHED, DIRECT,
         (f"{SOLVERS}test_films_between_cells_against_a_stiff_integrator", "scipy's BDF, films as nodes")),
        ((f"{LAWS}test_heat_in_less_heat_lost_is_heat_stored", "first law, by scipy's quadrature"),
         (f"{LAWS}test_more_heat_never_cools", "maximum principle"),
         (f"{LAWS}test_cells_that_do_not_touch_are_strangers", "limit: contacts without measure"),
         (f"{LAWS}test_without_contact_resistance_cells_are_one_body", "limit: no contact resistance"),
         ("physics/test_conduction_modes.py::test_modes_left_out_change_nothing_that_counts",
          "every mode, by scipy's sparse direct solution, to 5 mK")),
    ),
    "physics.conduction.Block.varied": Held(
        ((f"{VARIED}test_heat_that_falls_against_the_network", "scipy's BDF on the sparse network"),),
        ((f"{VARIED}test_another_heat_capacity_is_a_block_built_with_it", "a block built so"),
         (f"{VARIED}test_a_strong_fall_alone_decides_the_end", "limit by hand")),
    ),
    "physics.conduction.Block.steady": Held(
        (DIRECT,),
        ((f"{LAWS}test_the_long_run_is_the_steady_state", "limit: a long run"),
         (f"{LAWS}test_at_the_steady_state_nothing_flows", "first law")),
    ),
    "physics.conduction.Block.after": Held(
        (FEM, FEM_SWITCHED, BDF_SWITCHED),
        ((f"{LAWS}test_one_step_is_as_good_as_sixty", "its own steps"),
         (f"{LAWS}test_a_closed_block_keeps_all_heat", "heat over heat capacity, by hand")),
    ),
    "physics.conduction.Block.surface": Held(
        ((f"{SOLVERS}test_film_and_surface_against_explicit_film_nodes", "the network's film nodes"),
         (f"{EXACT}test_surface_step", "Carslaw and Jaeger 3.3 and 3.4")),
        ((f"{LAWS}test_an_endless_conductance_holds_the_surface", "limit: an endless conductance"),),
    ),
    "physics.electrical.prospective_A": Held(
        ((f"{ELECTRICAL}test_prospective_current_by_nodal_analysis", "Kirchhoff's node equations by numpy"),),
        ((f"{ELECTRICAL}test_prospective_current", "by hand"),),
    ),
    "physics.electrical.let_through_A2s": Held(
        ((f"{ELECTRICAL}test_inductance_only_lowers_what_passes",
          "the circuit's differential equation by scipy, as an upper bound"),),
        ((f"{ELECTRICAL}test_without_inductance_all_of_it_passes", "limit: no inductance"),
         (f"{ELECTRICAL}test_joule_integral_and_melting_time", "by hand; terms of IEC 60127-1, from memory")),
    ),
    "physics.electrical.melting_s": Held(
        ((f"{ELECTRICAL}test_melting_integral_of_copper",
          "IEC 60949 (from memory), and a heated copper element by scipy"),),
        ((f"{ELECTRICAL}test_joule_integral_and_melting_time", "by hand"),),
    ),
    "physics.electrical.lasts_days": Held(
        ((f"{ELECTRICAL}test_lasting", "the charge integrated by scipy; by hand"),
         (f"{ELECTRICAL}test_self_discharge_in_proportion_lasts_longer", "exponential loss by scipy")),
    ),
    "physics.electrical.charge_at": Held(
        ((f"{ELECTRICAL}test_state_of_charge_is_the_inverse_of_the_curve",
          "scipy's monotone and numpy's straight interpolation"),),
    ),
    "physics.electrical.bleed_h": Held(
        ((f"{ELECTRICAL}test_a_resistor_bleeds_as_its_mean_current", "a bleed resistor by scipy, to 4 %"),),
        ((f"{ELECTRICAL}test_bleeding", "by hand"),),
    ),
    "physics.history.Probe": Held(
        ((f"{HISTORY}test_a_lag_against_an_integrator", "the lag integrated by scipy (DOP853), to 1e-4 K"),),
    ),
    "physics.history.Probes": Held(
        ((f"{HISTORY}test_a_lag_against_an_integrator",
          "the lag integrated by scipy (DOP853), also where lag and mode agree"),),
        ((f"{HISTORY}test_without_a_lag_the_place_itself_is_reported", "the field itself"),),
    ),
    "physics.history.Segment": Held(
        ((f"{HISTORY}test_a_lag_against_an_integrator", "the lag integrated by scipy (DOP853), to 1e-4 K"),
         LOOP),
        ((f"{HISTORY}test_a_stretch_continues_the_one_before", "two stretches for one"),),
    ),
    "physics.history.first_time": Held(
        (BRENT,), ((f"{HISTORY}test_a_margin_that_is_never_or_at_once_reached", "straight lines by hand"),),
    ),
    "physics.resistance.resistance_ratio": Held(
        (("physics/test_resistance.py::test_arrhenius_ratio", "van 't Hoff's equation by scipy's quadrature"),
         (f"{COLD}test_activation_of_whole_cells_lies_about_the_default", "PyBaMM's porous electrodes"),
         (f"{COLD}test_cold_resistance_rises_without_exception", "PyBaMM, monotone")),
    ),
    "physics.resistance.activation_J_per_mol": Held(
        ((f"{RELAXATION}test_a_declared_ratio_gives_the_activation", "by scipy's gas constant"),),
        (("physics/test_resistance.py::test_the_inverse_returns_the_activation", "its own inverse"),),
    ),
    "physics.round_cells.square_array_W_per_mK": Held(
        ((f"{ROUND}test_square_array_against_the_unit_cell", "the unit cell solved by scipy, to 2 %"),
         (f"{ROUND}test_an_array_conducts_between_its_bounds", "Wiener's bounds")),
        ((f"{ROUND}test_touching_cells_that_conduct_well_are_given_too_little", "its stated validity"),
         (f"{ROUND}test_limits_of_the_array", "limits; Rayleigh's first terms")),
    ),
    "physics.round_cells.radial_rise_K": Held(
        ((f"{ROUND}test_rise_of_the_axis_against_a_boundary_value_problem", "scipy.integrate.solve_bvp"),),
        ((f"{ROUND}test_rise_of_a_usual_cell_by_hand", "by hand"),),
    ),
    "physics.surfaces.series_W_per_m2K": Held(
        ((f"{SURFACES}test_series_against_ht_of_a_wall", "package ht, of one layer only; the sum by hand"),),
        ((f"{SURFACES}test_series_limits", "limits 0 and infinite"),),
    ),
    "physics.surfaces.radiation_W_per_m2K": Held(
        ((f"{SURFACES}test_radiation_against_the_law_itself", "the law in T^4, scipy's constant"),),
    ),
    "physics.surfaces.vertical_plate_W_per_m2K": Held(
        ((f"{SURFACES}test_vertical_plate_against_handbook_packages", "packages ht and fluids, to 1e-6"),
         (f"{SURFACES}test_air_after_another_tables_values", "Incropera, table A.4 (from memory), to 1 %")),
    ),
    "physics.thermistor.resistance": Held(
        ((f"{THERMISTOR}test_table", "IEC 60539-1's equation in 40 decimal digits"),
         (f"{THERMISTOR}test_b_value_is_the_one_of_the_standard", "definition in IEC 60539-1"),
         (f"{THERMISTOR}test_temperature_coefficient_of_the_standard", "definition in IEC 60539-1")),
    ),
    "physics.thermistor.temperature": Held(
        ((f"{THERMISTOR}test_table", "IEC 60539-1's equation in 40 decimal digits, inverted"),),
        ((f"{THERMISTOR}test_a_resistance_below_the_curve_is_refused", "limit by hand"),),
    ),
    "physics.thermistor.reading_as": Held(
        ((f"{THERMISTOR}test_read_with_the_wrong_curve", "scipy's root finder on the other curve"),),
        ((f"{THERMISTOR}test_reading_is_conversion_of_the_resistance", "the way over the resistance"),
         (f"{THERMISTOR}test_the_same_curve_reads_true_at_extremes", "limit: the same curve")),
    ),
    "physics.thermistor.reading_line": Held(
        ((f"{THERMISTOR}test_the_line_of_inverse_temperatures_is_the_reading",
          "IEC 60539-1's equation in 40 decimal digits"),),
    ),
    "physics.thermistor.true_at_reading": Held(
        ((f"{THERMISTOR}test_read_with_the_wrong_curve", "scipy's root finder, there and back"),),
        ((f"{THERMISTOR}test_an_array_is_read_as_its_numbers_are", "its own inverse"),),
    ),
    "physics.voltage.at_rest_V": Held(
        ((f"{VOLTAGE}test_at_rest_is_the_straight_spline_of_scipy", "scipy's spline of degree 1"),),
        ((f"{VOLTAGE}test_beyond_the_ends_the_end_holds", "the curve's own ends"),),
    ),
    "physics.voltage.ohmic_V": Held(
        ((f"{COLD}test_step_from_two_resistances", "PyBaMM's porous electrodes: bounds them from above"),),
        ((f"{VOLTAGE}test_small_currents_obey_ohm_and_large_ones_tafel", "limit: small currents"),),
    ),
    "physics.voltage.transfer_V": Held(
        ((f"{VOLTAGE}test_charge_transfer_is_the_root_of_both_electrodes",
          "Butler and Volmer's equation by scipy's root finder"),
         (f"{COLD}test_step_from_two_resistances",
          "PyBaMM's porous electrodes, to 10 % (nickel oxides) and -10 to 43 % (iron phosphate)")),
        ((f"{VOLTAGE}test_small_currents_obey_ohm_and_large_ones_tafel", "limits: Ohm and Tafel"),),
    ),
    "physics.voltage.transfer_A": Held(
        ((f"{VOLTAGE}test_charge_transfer_is_the_root_of_both_electrodes",
          "Butler and Volmer's equation by scipy's root finder, there and back"),
         (f"{STEP}test_a_charger_holds_the_pack_at_its_bulk_voltage", "scipy's root finder (Brent)")),
        ((f"{VOLTAGE}test_a_rise_beyond_all_measure_stays_a_number", "limit: beyond all measure"),),
    ),
    "physics.voltage.slope_V": Held(
        ((f"{VOLTAGE}test_slope_is_the_derivative_of_that_spline", "derivative of scipy's spline"),
         (f"{VOLTAGE}test_slope_adds_up_to_the_curve", "scipy's quadrature back to the curve")),
    ),
    "physics.voltage.moved_V": Held(
        ((f"{VOLTAGE}test_moved_against_charge_integrated_in_time", "the charge integrated by scipy"),),
    ),
    "facts.balance": Held(otherwise=((f"{FACTS}test_a_whole_fact", "by hand"),)),
    "facts.block": Held(
        otherwise=(("facts/test_block.py::test_block_by_hand", "by hand from the profiles"),
                   ("facts/test_block.py::test_a_round_cell_has_the_volume_of_a_cylinder", "by hand")),
    ),
    "facts.charging": Held(
        otherwise=((f"{ALL_ROUND}test_cells_that_their_maker_lets_charge_at_30_below",
                    "signs alone: some charge below the limit, and none once the release waits"),
                   (f"{SENSING}test_charge_below_the_limit_against_dense_integration",
                    "every volume at every second, on the same conduction")),
    ),
    "facts.cool_down": Held(
        ((f"{COOL}test_lumped_cooling", "Incropera 5.1 (from memory), lumped cooling"),
         (f"{COOL}test_cooling_over_a_floor_against_the_network", "scipy's BDF on the sparse network"),
         (f"{COOL}test_share_of_the_floor_against_the_heat_that_passes_there", "scipy's sparse solution"),
         (f"{COOL}test_an_air_gap_takes_away_nearly_all_that_a_floor_contact_conducts",
          "common practice, no source: 95 % and more"),
         (f"{COOL}test_holding_by_a_film_against_the_network", "scipy's sparse solution"),
         (f"{COOL}test_holding_with_several_sensors_against_the_network", "scipy's sparse solution")),
        ((f"{COOL}test_holding_power_of_a_lumped_pack", "U A dT, by hand"),),
    ),
    "facts.corners": Held(
        otherwise=(RANGES,
                   ("facts/test_ranges.py::test_all_corners_bound_the_coldest_cell_on_both_sides",
                    "512 drawn property sets on the same model"),
                   RANGES_LASTING),
    ),
    "facts.currents": Held(
        otherwise=((f"{FACTS}test_all_paths_push_together", "by hand"),
                   (f"{FACTS}test_levels_in_order", "by hand"),
                   (f"{FACTS}test_cells_side_by_side_bear_more", "by hand"),
                   (f"{FACTS}test_surge", "by hand"),
                   (f"{FACTS}test_charging_at_the_trip", "by hand")),
    ),
    "facts.hot": Held(
        ((f"{HOT}test_steady_temperature_of_a_lumped_pack", "lumped balance by scipy's root finder"),
         (f"{HOT}test_a_sloping_current_against_its_balance", "balance by scipy's root finder"),
         (f"{HOT}test_a_path_that_does_not_go_by_the_steps_pushes_on", "balance by scipy's root finder")),
        ((f"{HOT}test_no_current_at_the_hottest_site_makes_no_heat", "limit: no current"), RANGES_LASTING),
    ),
    "facts.hot_run": Held(
        ((f"{HOT}test_time_to_trip_of_a_lumped_pack", "lumped equation by scipy.integrate.solve_ivp"),
         (f"{HOT}test_core_at_the_trip_against_the_network",
          "scipy's BDF on the sparse network, heat by each volume's own temperature"),
         (f"{HOT}test_a_discharge_is_over_before_a_slow_pack_is_hot", "lumped equation by scipy")),
        ((f"{HOT}test_a_current_step_holds_the_pack_where_it_reduces", "limit: held at the step"),),
    ),
    "facts.inverse": Held(
        otherwise=((f"{INVERSE}test_the_largest_heater_is_safe_and_a_little_more_is_not", "a forward run"),
                   (f"{INVERSE}test_places_that_do_are_those_that_a_forward_run_finds_safe", "forward runs"),
                   (f"{INVERSE}test_safe_release_and_hold_are_safe_and_a_step_less_is_not", "forward runs"),
                   (f"{INVERSE}test_what_the_pack_bears_is_the_row_of_its_coldest_point", "by hand")),
    ),
    "facts.joule": Held(
        ((f"{HOT}test_time_to_trip_of_a_lumped_pack", "Arrhenius itself in scipy's integrator, to 0.5 %"),
         (f"{HOT}test_steady_temperature_of_a_lumped_pack", "scipy's root finder")),
        ((f"{ALL_ROUND}test_the_axis_of_a_round_cell_by_hand", "by hand"),
         (f"{ROUND_PACK}test_a_sensor_between_round_cells_does_not_see_their_axes", "by hand, two bounds")),
    ),
    "facts.loop": Held(
        (LOOP, (f"{ALL_ROUND}test_a_plate_heated_warm_up_against_the_network",
                "scipy's BDF, films in every plane as nodes")),
        (("facts/test_chatter.py::test_a_chattering_heater_leaves_the_warm_up_unjudged",
          "limit: thresholds without a gap"),),
    ),
    "facts.overshoot": Held(
        ((f"{RELAXATION}test_overshoot_against_the_cell_integrated_in_time",
          "scipy.integrate.solve_ivp, the voltage read off the curve"),),
        ((f"{RELAXATION}test_overshoot_without_delay_is_none_and_without_protection_undefined",
          "limit: no delay"),),
    ),
    "facts.pack": Held(
        ((f"{STUCK}test_a_film_between_the_cell_and_a_hotter_or_colder_outside", "the network's film node"),),
        ((f"{GRID}test_the_cut_of_the_facts_is_fine_enough", "a cut two to three times finer, to 0.3 K"),
         (f"{ROUND_PACK}test_across_round_cells_the_block_conducts_alike_both_ways",
          "bounds, and the filled share by hand")),
    ),
    "facts.pack_voltage": Held(
        otherwise=((f"{FACTS}test_voltages_by_cell_and_by_pack", "by hand"),
                   (f"{FACTS}test_cold_compensation_counts_from_25_degC", "by hand"),
                   (f"{FACTS}test_a_charger_at_the_trip", "by hand"),
                   (f"{FACTS}test_second_overvoltage_within_the_error_may_come_first", "by hand")),
    ),
    "facts.relaxation": Held(
        otherwise=((f"{RELAXATION}test_the_jumps_of_a_profile_by_plain_formulas",
                    "the same laws as plain formulas, scipy's constants"),
                   (f"{RELAXATION}test_chatter_begins_where_the_drop_reaches_the_release", "by hand"),
                   (f"{RELAXATION}test_the_cold_jump_ranges_over_the_warm_up_and_the_activation", "by hand")),
    ),
    "facts.resistance": Held(
        ((f"{COLD}test_activation_of_whole_cells_lies_about_the_default", "PyBaMM's porous electrodes"),),
        ((f"{RELAXATION}test_a_declared_ratio_gives_the_activation", "by hand, scipy's gas constant"),),
    ),
    "facts.response": Held(
        otherwise=(
            (f"{RESPONSE}test_a_look_up_is_what_the_facts_of_the_changed_settings_say", "forward runs"),
            (f"{RESPONSE}test_a_hold_time_begins_anew_when_the_reading_falls", "by hand"),
        ),
    ),
    "facts.sensing": Held(
        ((f"{SENSING}test_the_true_temperature_behind_a_threshold",
          "both curves of IEC 60539-1 made equal by scipy's brentq"),),
        ((f"{SENSING}test_a_sensor_read_right_has_only_its_error", "limit case: one curve"),),
    ),
    "facts.sensors": Held(
        (LOOP,
         (f"{STUCK}test_a_film_between_the_cell_and_a_hotter_or_colder_outside", "the network's film node")),
        (("facts/test_film_place.py::test_the_order_of_the_heated_faces_changes_nothing", "its own mirror"),
         ("facts/test_film_place.py::test_a_second_heated_face_on_a_cold_floor_does_not_hide_the_hot_one",
          "the face that is hotter, alone")),
    ),
    "facts.short": Held(
        otherwise=((f"{FACTS}test_prospective_current_worked_again", "by hand"),
                   (f"{FACTS}test_a_second_string_halves_the_cells_not_the_joints", "by hand"),
                   (f"{FACTS}test_fuse_or_board", "by hand; term of IEC 60269-1"),
                   (f"{FACTS}test_what_the_board_can_interrupt", "by hand")),
    ),
    "facts.standby": Held(
        ((f"{FACTS}test_days_from_a_trip_at_the_lowest_discharge_voltage", "scipy's integrator"),),
        ((f"{FACTS}test_days_by_counting_each_day", "days counted in a loop"),
         (f"{FACTS}test_charge_needed_by_coulomb_counting", "by hand"),
         (f"{FACTS}test_a_trip_at_the_voltage_that_harms_leaves_nothing", "limit: nothing left")),
    ),
    "facts.steps": Held(
        otherwise=((f"{SENSING}test_steps_against_the_cell_by_hand", "by hand from the profile's rows"),),
    ),
    "facts.stuck": Held(
        ((f"{STUCK}test_film_and_surface_in_the_end_against_the_network", "scipy's sparse solution"),
         (f"{STUCK}test_the_cut_out_against_the_network", "scipy's BDF on the sparse network"),
         (f"{STUCK}test_a_lumped_pack_loses_in_the_end_what_the_film_gives", "lumped balance by numpy"),
         (f"{STUCK}test_hours_to_the_cells_limit_of_a_lumped_pack", "lumped heating, closed form"),
         (f"{ALL_ROUND}test_films_between_cells_stuck_on_against_the_network", "scipy's sparse solution")),
        ((f"{STUCK}test_no_power_stays_at_the_start", "limit: no power"), RANGES_LASTING),
    ),
    "facts.voltage_step": Held(
        ((f"{STEP}test_four_cold_cells_above_fourteen_volts",
          "common practice, no source; met by the unfavourable end, not by the nominal one"),
         (f"{STEP}test_the_two_inner_cells_stand_visibly_above_the_outer_ones", "common practice, no source"),
         (f"{STEP}test_a_gauge_that_trusts_voltage_jumps_to_full", "common practice, no source"),
         (f"{STEP}test_a_charger_holds_the_pack_at_its_bulk_voltage", "scipy's root finder (Brent)"),
         (f"{STEP}test_trips_from_the_charge_at_which_the_cell_reaches_the_trip", "scipy's root finder")),
        ((f"{STEP}test_every_voltage_of_a_profile_by_scalar_formulas", "the same laws as plain formulas"),
         (f"{STEP}test_the_corners_bound_property_sets_drawn_from_the_whole_ranges", "2,000 drawn sets")),
    ),
    "facts.warmup": Held(
        (LOOP, MIDDLE,
         (f"{MEASURED}test_the_power_that_meets_the_measured_middle",
          "the same measured warm-up, conduction alone (common practice, no source)")),
        ((f"{ALL_ROUND}test_small_cells_heated_all_round_have_hardly_a_lag", "by hand"),
         (f"{INVERSE}test_safe_release_and_hold_are_safe_and_a_step_less_is_not", "forward runs"), RANGES),
    ),
}  # fmt: skip
"""By relation, what holds it."""

NO_RELATION = (
    "facts.course", "facts.current_lines", "facts.derive", "facts.electrical_names", "facts.inputs",
    "facts.names", "facts.quantity", "facts.scene", "facts.section", "facts.shelf", "facts.single",
    "facts.soaked", "facts.thermal_names",
)  # fmt: skip
"""Modules of `bmslint/facts` that name, read, join or hand on, and compute nothing of their own."""

RUN = ("physics.conduction.Block", "physics.history.Segment", "physics.history.first_time")
WARM = (
    *RUN, "physics.cells.cell_means", "physics.resistance.resistance_ratio",
    "physics.thermistor.reading_line", "facts.pack", "facts.sensors", "facts.loop", "facts.charging",
    "facts.warmup", "facts.corners",
)  # fmt: skip
LASTING = (
    *RUN, "physics.conduction.Block.varied", "physics.resistance.resistance_ratio",
    "physics.round_cells.radial_rise_K", "facts.pack", "facts.sensors", "facts.joule", "facts.hot",
    "facts.hot_run",
)  # fmt: skip
GROUPS: dict[str, tuple[str, ...]] = {
    "block": ("facts.block", "facts.pack"),
    "sensing": ("physics.thermistor.true_at_reading", "physics.thermistor.reading_as", "facts.sensing"),
    "charge_steps": ("facts.charging", "facts.steps"),
    "heated_warmup": WARM,
    "ambient_warmup": WARM,
    "inverse": (*WARM, "facts.inverse"),
    "cool_down": (*RUN, "facts.pack", "facts.sensors", "facts.cool_down"),
    "hot_charge": (*LASTING, "facts.charging"),
    "hot_discharge": LASTING,
    "heater_stuck_on": (
        *RUN, "physics.conduction.Block.surface", "facts.pack", "facts.sensors", "facts.stuck",
    ),
    "voltage_step": (
        "physics.voltage.at_rest_V", "physics.voltage.ohmic_V", "physics.voltage.transfer_V",
        "physics.voltage.transfer_A", "physics.resistance.resistance_ratio", "facts.resistance",
        "facts.warmup", "facts.voltage_step",
    ),
    "relaxation": (
        "physics.voltage.transfer_V", "physics.resistance.resistance_ratio", "facts.resistance",
        "facts.warmup", "facts.relaxation",
    ),
    "overshoot": ("physics.voltage.slope_V", "physics.voltage.moved_V", "facts.overshoot"),
    "standby": ("physics.electrical.lasts_days", "physics.electrical.charge_at", "facts.standby"),
    "balance_time": ("physics.electrical.bleed_h", "facts.balance"),
    "short_circuit": (
        "physics.electrical.prospective_A", "physics.electrical.let_through_A2s",
        "physics.electrical.melting_s", "physics.resistance.resistance_ratio", "facts.resistance",
        "facts.short",
    ),
    "currents": ("facts.currents",),
    "pack_voltage": ("facts.pack_voltage",),
}  # fmt: skip
"""By group of facts, the relations that it rests on."""
