"""The sheet that dresses Qt's controls in a theme's colours. Sizes are in Qt's device-independent pixels."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bladewise.window.design import FOCUS_PX, RADIUS, RADIUS_LARGE, RADIUS_SMALL

if TYPE_CHECKING:
    from bladewise.window.theme import Theme


def stylesheet(theme: Theme) -> str:
    """Return the application's style sheet for a theme."""
    t = theme
    return f"""
QMainWindow, QDialog {{ background: {t.panel}; }}
QWidget#desk {{ background: {t.window}; }}
QFrame#panel, QWidget#panel {{ background: {t.panel}; border: none; }}
QFrame#jobStrip {{ background: {t.panel}; border: none; border-bottom: 1px solid {t.line}; }}
QFrame#bench {{ background: {t.panel}; border: none; border-top: 1px solid {t.line}; }}
QFrame#canvasFoot {{ background: {t.panel}; border: none; border-top: 1px solid {t.line}; }}
QScrollArea, QScrollArea > QWidget > QWidget#scrolled {{ background: transparent; border: none; }}
QScrollArea#page {{ border: {FOCUS_PX}px solid transparent; border-radius: {RADIUS}px; }}
QScrollArea#page:focus {{ border-color: {t.focus}; }}
QToolTip {{ background: {t.text}; color: {t.panel}; border: none; padding: 4px 6px; }}

QLabel {{ background: transparent; color: {t.text}; }}
QLabel[role="muted"] {{ color: {t.muted}; }}
QLabel[role="title"] {{ font-weight: 600; }}
QLabel[role="trouble"] {{ color: {t.spoils}; }}
QLabel[role="good"] {{ color: {t.good}; font-weight: 600; }}
QLabel[role="badge"] {{ background: {t.hover}; color: {t.muted}; border-radius: 8px; padding: 0 6px; }}

QMenuBar {{ background: {t.panel}; color: {t.text}; padding: 1px 4px; border: none; }}
QMenuBar::item {{ padding: 4px 9px; background: transparent; border-radius: {RADIUS_SMALL}px; }}
QMenuBar::item:selected, QMenuBar::item:pressed {{ background: {t.soft}; color: {t.on_soft}; }}
QMenu {{ background: {t.raised}; color: {t.text}; border: 1px solid {t.line}; padding: 4px; }}
QMenu::item {{ padding: 5px 26px 5px 12px; border-radius: {RADIUS_SMALL}px; }}
QMenu::icon {{ padding-left: 8px; }}
QMenu::item:selected {{ background: {t.soft}; color: {t.on_soft}; }}
QMenu::item:disabled {{ color: {t.border}; }}
QMenu::separator {{ height: 1px; background: {t.line}; margin: 4px 8px; }}

QPushButton, QToolButton {{
    background: {t.raised}; color: {t.text}; border: 1px solid {t.line}; border-radius: {RADIUS}px;
    padding: 4px 10px; min-height: 18px;
}}
QPushButton:hover, QToolButton:hover {{ background: {t.hover}; border-color: {t.border}; }}
QPushButton:pressed, QToolButton:pressed {{ background: {t.soft}; color: {t.on_soft}; }}
QPushButton:focus, QToolButton:focus {{ border: {FOCUS_PX}px solid {t.focus}; padding: 3px 9px; }}
QPushButton:disabled, QToolButton:disabled {{ color: {t.border}; background: {t.panel}; }}
QPushButton[kind="primary"] {{
    background: {t.accent}; color: {t.on_accent}; border-color: {t.accent}; font-weight: 600; padding: 4px 14px;
}}
QPushButton[kind="primary"]:hover {{ background: {t.accent_hover}; }}
QPushButton[kind="primary"]:focus {{ border: {FOCUS_PX}px solid {t.focus}; padding: 3px 13px; }}
QPushButton[kind="primary"]:disabled {{
    background: {t.hover}; color: {t.border}; border-color: {t.line};
}}
QMessageBox, QDialogButtonBox {{ dialogbuttonbox-buttons-have-icons: 0; }}
QMessageBox QPushButton {{ min-width: 64px; }}
QMessageBox QPushButton:default {{
    background: {t.accent}; color: {t.on_accent}; border-color: {t.accent}; font-weight: 600;
}}
QMessageBox QPushButton:focus {{ border: {FOCUS_PX}px solid {t.focus}; }}
QPushButton[kind="verb"] {{ padding: 4px 11px 4px 8px; text-align: left; }}
QPushButton[kind="verb"]:focus {{ padding: 3px 10px 3px 7px; }}
QPushButton[kind="link"] {{
    background: transparent; border: 1px solid transparent; color: {t.accent}; padding: 2px 4px; text-align: left;
}}
QPushButton[kind="link"]:hover {{ background: {t.hover}; }}
QPushButton[kind="link"]:focus {{ border: {FOCUS_PX}px solid {t.focus}; padding: 1px 3px; }}
QToolButton[kind="flat"], QPushButton[kind="flat"] {{
    background: transparent; border: 1px solid transparent; padding: 3px; min-height: 16px;
}}
QToolButton[kind="flat"]:hover, QPushButton[kind="flat"]:hover {{ background: {t.hover}; }}
QToolButton[kind="flat"]:checked {{ background: {t.soft}; color: {t.on_soft}; }}
QToolButton[kind="flat"]:focus, QPushButton[kind="flat"]:focus {{ border: {FOCUS_PX}px solid {t.focus}; padding: 2px; }}
QToolButton::menu-indicator {{ image: none; width: 0; }}
QPushButton[kind="segment"] {{
    background: {t.raised}; border: 1px solid {t.border}; border-radius: 0; padding: 4px 10px; margin: 0 -1px 0 0;
}}
QPushButton[kind="segment"]:hover {{ background: {t.hover}; }}
QPushButton[kind="segment"]:checked {{ background: {t.accent}; color: {t.on_accent}; border-color: {t.accent}; }}
QPushButton[kind="segment"]:focus {{ border: {FOCUS_PX}px solid {t.focus}; padding: 3px 9px; }}
QPushButton[kind="segment"][place="alone"] {{ border-radius: {RADIUS}px; margin: 0; padding: 4px 7px; }}
QPushButton[kind="segment"][place="alone"]:focus {{ padding: 3px 6px; }}
QPushButton[kind="form"] {{ padding: 0; min-height: 60px; min-width: 60px; max-width: 60px; }}
QPushButton[kind="form"]:checked {{ background: {t.accent}; border-color: {t.accent}; }}
QPushButton[kind="form"]:focus {{ border: {FOCUS_PX}px solid {t.focus}; padding: 0; }}
QPushButton[kind="segment"][place="first"] {{
    border-top-left-radius: {RADIUS}px; border-bottom-left-radius: {RADIUS}px;
}}
QPushButton[kind="segment"][place="last"] {{
    border-top-right-radius: {RADIUS}px; border-bottom-right-radius: {RADIUS}px; margin: 0;
}}

QLineEdit, QComboBox, QPlainTextEdit, QSpinBox {{
    background: {t.raised}; color: {t.text}; border: 1px solid {t.border}; border-radius: {RADIUS}px;
    padding: 4px 7px; min-height: 18px; selection-background-color: {t.accent}; selection-color: {t.on_accent};
}}
QLineEdit:focus, QComboBox:focus, QPlainTextEdit:focus, QSpinBox:focus {{
    border: {FOCUS_PX}px solid {t.focus}; padding: 3px 6px;
}}
QLineEdit[wrong="true"] {{ border: 2px solid {t.spoils}; padding: 3px 6px; background: {t.trouble_soft}; }}
QLineEdit:disabled, QComboBox:disabled {{ color: {t.border}; background: {t.panel}; }}
QLineEdit > QToolButton {{ background: transparent; border: none; padding: 0; min-height: 0; }}
QLineEdit#search {{ border-color: {t.line}; }}
QLineEdit#search:focus {{ border-color: {t.focus}; }}
QLineEdit#jobName {{
    background: transparent; border: 1px solid transparent; padding: 0 4px; font-weight: 600;
}}
QLineEdit#jobName:hover {{ border-color: {t.line}; }}
QLineEdit#jobName:focus {{ background: {t.raised}; border: {FOCUS_PX}px solid {t.focus}; padding: 0 3px; }}
QComboBox {{ padding-right: 20px; }}
QComboBox::drop-down {{ border: none; width: 20px; }}
QComboBox::down-arrow {{ image: url(icon:chevron-{"dark" if t.dark else "light"}.svg); width: 12px; height: 12px; }}
QComboBox QAbstractItemView, QAbstractItemView#popup {{
    background: {t.raised}; color: {t.text}; border: 1px solid {t.line};
    selection-background-color: {t.soft}; selection-color: {t.on_soft}; padding: 2px; outline: none;
}}

QCheckBox, QRadioButton {{
    color: {t.text}; spacing: 7px; padding: 3px 4px; border: 2px solid transparent; border-radius: {RADIUS_SMALL}px;
}}
QCheckBox:focus, QRadioButton:focus {{ border-color: {t.focus}; }}
QCheckBox::indicator {{
    width: 14px; height: 14px; border: 1px solid {t.border}; border-radius: {RADIUS_SMALL}px; background: {t.raised};
}}
QCheckBox::indicator:checked {{
    background: {t.accent}; border-color: {t.accent}; image: url(icon:tick-{"dark" if t.dark else "light"}.svg);
}}
QCheckBox::indicator:disabled {{ border-color: {t.line}; }}
QRadioButton::indicator {{
    width: 13px; height: 13px; border: 1px solid {t.border}; border-radius: 7px; background: {t.raised};
}}
QRadioButton::indicator:checked {{ background: {t.accent}; border: 4px solid {t.raised}; outline: none; }}

QTreeView, QListView {{
    background: {t.panel}; color: {t.text}; border: none; outline: none; show-decoration-selected: 1;
}}
QTreeView:focus, QListView:focus {{ border: none; }}
QListWidget {{ background: {t.raised}; border: 1px solid {t.border}; border-radius: {RADIUS}px; padding: 3px; }}
QListWidget:focus {{ border: {FOCUS_PX}px solid {t.focus}; padding: 2px; }}
QListWidget::item {{ padding: 5px 6px; border-radius: {RADIUS_SMALL}px; }}
QListWidget::item:selected {{ background: {t.soft}; color: {t.on_soft}; }}
QTreeView::item {{ border: none; padding: 0; }}
QTreeView::item:hover {{ background: {t.hover}; }}
QTreeView::item:selected {{ background: {t.soft}; color: {t.on_soft}; }}
QTreeView::branch {{ background: transparent; }}
QTreeView::branch:selected {{ background: {t.soft}; }}
QTreeView::branch:hover:!selected {{ background: {t.hover}; }}
QTreeView::branch:has-children:closed {{ image: url(icon:branch-closed-{"dark" if t.dark else "light"}.svg); }}
QTreeView::branch:has-children:open {{ image: url(icon:branch-open-{"dark" if t.dark else "light"}.svg); }}

QTableView {{
    background: {t.raised}; color: {t.text}; border: 1px solid {t.border}; border-radius: {RADIUS}px; outline: none;
    selection-background-color: {t.soft}; selection-color: {t.on_soft}; gridline-color: {t.line};
}}
QTableView:focus {{ border: {FOCUS_PX}px solid {t.focus}; }}
QTableView::item {{ padding: 3px 6px; border-bottom: 1px solid {t.line}; }}
QTableView QLineEdit {{ border-radius: 0; padding: 0 5px; min-height: 0; }}
QHeaderView {{ background: {t.panel}; border: none; }}
QHeaderView::section {{
    background: {t.panel}; color: {t.muted}; border: none; border-bottom: 1px solid {t.border}; padding: 4px 6px;
}}

QScrollBar:vertical {{ background: transparent; width: 11px; margin: 0; }}
QScrollBar:horizontal {{ background: transparent; height: 11px; margin: 0; }}
QScrollBar::handle {{ background: {t.border}; border-radius: 3px; margin: 3px; }}
QScrollBar::handle:vertical {{ min-height: 28px; }}
QScrollBar::handle:horizontal {{ min-width: 28px; }}
QScrollBar::handle:hover {{ background: {t.muted}; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}

QSplitter::handle {{ background: {t.line}; }}
QSplitter::handle:hover {{ background: {t.accent}; }}
QProgressBar {{ background: {t.line}; border: none; border-radius: 3px; max-height: 6px; min-height: 6px; }}
QProgressBar::chunk {{ background: {t.accent}; border-radius: 3px; }}
QGroupBox {{ border: none; margin-top: 22px; padding: 0; font-weight: 600; }}
QGroupBox::title {{ subcontrol-origin: margin; left: 0; top: 0; }}
QFrame#card {{ background: {t.raised}; border: 1px solid {t.line}; border-radius: {RADIUS_LARGE}px; }}
QFrame#card QListView {{ background: {t.raised}; }}
QFrame#caution {{ background: {t.trouble_soft}; border: none; border-radius: {RADIUS}px; }}
QFrame#rule {{ background: {t.line}; border: none; max-height: 1px; min-height: 1px; }}
QFrame#rule[upright="true"] {{ max-width: 1px; min-width: 1px; max-height: 16777215px; }}
"""
